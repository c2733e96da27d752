# Circuit files: kind of file, colours, and the language server for kak-lsp.
hook global BufCreate .*\.(circuit|case) %{ set-option buffer filetype halfsplit }

hook global WinSetOption filetype=halfsplit %{
  add-highlighter window/halfsplit group
  add-highlighter window/halfsplit/ regex '^\h*([a-z][a-z-]*)\b' 1:keyword
  add-highlighter window/halfsplit/ regex '"[^"\n]*"' 0:string
  add-highlighter window/halfsplit/ regex '#[^\n]*' 0:comment
  hook -once -always window WinSetOption filetype=.* %{ remove-highlighter window/halfsplit }
}

hook global BufSetOption filetype=halfsplit %{
  set-option buffer lsp_servers %{
    [halfsplit]
    root_globs = ["halfsplit.toml"]
    command = "halfsplit"
    args = ["lsp"]
  }
}
