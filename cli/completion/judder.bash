# Completion of judder for bash. To have it in every shell:
#   judder completion bash > ~/.local/share/bash-completion/completions/judder
_judder() {
  local IFS=$'\n'
  COMPREPLY=($(judder complete -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null))
}
complete -o default -F _judder judder
