# Completion of judder for fish. To have it in every shell:
#   judder completion fish > ~/.config/fish/completions/judder.fish
complete -c judder -a '(judder complete -- (commandline -opc)[2..-1] (commandline -ct) 2>/dev/null)'
