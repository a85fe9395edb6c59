" Which files are signal maps; goes into a folder ftdetect/ of Vim, beside syntax/.
autocmd BufRead,BufNewFile *.signals setlocal filetype=foundling-signals
