autocmd BufRead,BufNewFile *.circuit,*.case setfiletype halfsplit
