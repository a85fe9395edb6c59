#!/usr/bin/env bash
# What the front page says of `cmake --install`: both programs, their manual pages and those of the
# file formats, completions, the page itself, the examples and an editor's colours. Nothing lands
# outside of the folder that was named.
# Usage: installed.sh DIR BUILD PREFIX
set -euo pipefail
folder=$1 build=$2 prefix=$3
rm -rf "$folder"
mkdir -p "$folder"
DESTDIR=$folder cmake --install "$build" >"$folder.log"
missing=0
for file in bin/foundling bin/foundlingd share/man/man1/foundling.1 share/man/man1/foundling-decode.1 \
  share/man/man8/foundlingd.8 share/man/man5/foundling-map.5 share/man/man5/foundling-plan.5 \
  share/man/man5/foundling-capture.5 share/bash-completion/completions/foundling \
  share/zsh/site-functions/_foundling share/fish/vendor_completions.d/foundling.fish \
  share/doc/foundling/guide.md share/doc/foundling/copyright share/doc/foundling/examples/tractor.signals \
  share/vim/vimfiles/syntax/foundling-signals.vim; do
  if [ ! -s "$folder$prefix/$file" ]; then
    echo "not installed: $file"
    missing=1
  fi
done
for program in foundling foundlingd; do "$folder$prefix/bin/$program" --version; done
# As the page does, with the examples that came along.
# (grep reads to the end: a closed pipe is an error of the program before it.)
"$folder$prefix/bin/foundling" survey "$folder$prefix/share/doc/foundling/examples/tractor-1.capture" | grep '11 messages' >/dev/null
exit "$missing"
