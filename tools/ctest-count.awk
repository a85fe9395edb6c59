# Reads `ctest --verbose` output. Prints one line a test that did not pass, with what it said, and
# one line a test that was skipped; the last line is three numbers: passed, failed, skipped.
# A doctest executable counts its cases; any other test counts one.

# "12: text": what test 12 said.
match($0, /^[0-9]+: /) {
  number = substr($0, 1, RLENGTH - 2) + 0
  text = substr($0, RLENGTH + 1)
  if (text ~ /^(Test command|Working Directory|Test timeout computed to be):/) next
  said[number] = said[number] text "\n"
  if (text ~ /^\[doctest\] test cases:/) {
    gsub(/[^0-9]+/, " ", text)
    split(text, n, " ")  # all, passed, failed, skipped
    cases_passed[number] += n[2]
    cases_failed[number] += n[3]
  }
  next
}

# " 3/12 Test #12: name ........   Passed    0.01 sec"
match($0, /Test +#[0-9]+: /) && /^ *[0-9]+\/[0-9]+ / {
  label = substr($0, RSTART, RLENGTH)
  gsub(/[^0-9]/, "", label)
  number = label + 0
  name = substr($0, RSTART + RLENGTH)
  sub(/ .*/, "", name)
  ran++
  if ($0 ~ / Passed +[0-9.]+ sec/) {
    passed += cases_passed[number] ? cases_passed[number] : 1
  } else if ($0 ~ /\*\*\*Skipped|\(Disabled\)/) {
    skipped++
    print "skipped: " name
    printf "%s", last_lines(said[number], 6)
  } else {
    passed += cases_passed[number]
    failed += cases_failed[number] ? cases_failed[number] : 1
    verdict = $0
    sub(/.*\*\*\*/, "", verdict)
    print "FAILED: " name " (" verdict ")"
    printf "%s", last_lines(said[number], 80)
  }
}

END { print passed + 0, failed + 0, skipped + 0 }

function last_lines(text, most,    line, n, i, out) {
  n = split(text, line, "\n") - 1
  for (i = n > most ? n - most + 1 : 1; i <= n; i++) out = out "    " line[i] "\n"
  return out
}
