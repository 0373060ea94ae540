#compdef judder
# Completion of judder for zsh. To have it in every shell, put it into a folder of $fpath:
#   judder completion zsh > "${fpath[1]}/_judder"
_judder() {
  local -a found
  found=(${(f)"$(judder complete -- "${(@)words[2,CURRENT]}" 2>/dev/null)"})
  if (( $#found )); then
    compadd -- "${found[@]}"
  else
    _files
  fi
}
if [ "$funcstack[1]" = _judder ]; then
  _judder "$@"
else
  compdef _judder judder
fi
