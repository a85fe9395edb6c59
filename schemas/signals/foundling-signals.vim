" Vim syntax of signal maps (*.signals); the grammar is README.md in this folder.
" Copy to ~/.vim/syntax/ and add to ~/.vimrc:
"   autocmd BufRead,BufNewFile *.signals setlocal filetype=foundling-signals
if exists("b:current_syntax")
  finish
endif

syntax match signalsKeyword /^\s*\zs\(foundling signals\|board\|data-bit-rate\|bit-rate\|message\|selector\|counter\|checksum\|signal\|series\|on\|bits\|value\|point\|state\|reserved\|status\|delay\|time-constant\|where\|pin\)\>/
syntax match signalsClause /\<\(extended\|transport\|segments\|address\|bus\|every\|length\|values\|modulo\|step\|polynomial\|initial\|final\|reflected\|identifier\|bytes\?\|raw\|table\|signed\|unsigned\|float\|sign-magnitude\|ones-complement\|bcd\|swapped\|div\|mod\|big\)\>/
syntax match signalsNumber /\<0x\x\+\>\|\<\d\+\(\.\d\+\)\?\([eE][-+]\?\d\+\)\?\>/
syntax match signalsSpan /\<\d\+\.[0-7]\(\.\.\d\+\.[0-7]\)\?\>/
syntax region signalsString start=/"/ skip=/\\["\\]/ end=/"/ oneline
syntax match signalsStatus /\<\(proposed\|confirmed\|refuted\)\>/
syntax match signalsComment /#.*$/
syntax match signalsText /^\s*\(note\|seen\)\>.*$/

highlight default link signalsKeyword Keyword
highlight default link signalsClause Type
highlight default link signalsNumber Number
highlight default link signalsSpan Identifier
highlight default link signalsString String
highlight default link signalsStatus Constant
highlight default link signalsComment Comment
highlight default link signalsText Special

let b:current_syntax = "foundling-signals"
