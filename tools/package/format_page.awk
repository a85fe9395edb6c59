# Turns a format's page (Markdown as this repository's pages use it) into a manual page of section 5:
#   awk -f format_page.awk -v name=foundling-map -v title="what it is" README.md
function roff(text) {
  gsub(/\\/, "\\e", text)
  gsub(/-/, "\\-", text)
  return text
}
# `code` and **strong** bold, [words](link) as the words.
function inline(text,    out) {
  while (match(text, /\[[^]]*\]\([^)]*\)/)) {
    out = substr(text, RSTART + 1, RLENGTH - 1)
    sub(/\]\(.*/, "", out)
    text = substr(text, 1, RSTART - 1) out substr(text, RSTART + RLENGTH)
  }
  text = roff(text)
  while (match(text, /\*\*[^*]+\*\*/)) {
    text = substr(text, 1, RSTART - 1) "\\fB" substr(text, RSTART + 2, RLENGTH - 4) "\\fR" substr(text, RSTART + RLENGTH)
  }
  while (match(text, /`[^`]+`/)) {
    text = substr(text, 1, RSTART - 1) "\\fB" substr(text, RSTART + 1, RLENGTH - 2) "\\fR" substr(text, RSTART + RLENGTH)
  }
  return text
}
# A line that would be taken for a request. A paragraph begins where text follows a blank line.
function put(text) {
  if (gap) print ".PP"
  gap = 0
  if (text ~ /^[.']/) text = "\\&" text
  print text
}
function row(line,    n, i, cells, cell, rest) {
  sub(/^\| */, "", line)
  sub(/ *\|$/, "", line)
  gsub(/\\\|/, "\001", line)
  n = split(line, cells, / *\| */)
  print ".TP"
  put(inline(cells[1]))
  rest = ""
  for (i = 2; i <= n; ++i) {
    cell = cells[i]
    if (cell != "") rest = rest (rest == "" ? "" : "; ") cell
  }
  gsub("\001", "|", rest)
  put(rest == "" ? "\\&" : inline(rest))
}
BEGIN {
  printf ".TH \"%s\" 5 \"\" \"foundling\" \"File Formats\"\n.nh\n.ad l\n", roff(toupper(name))
  printf ".SH NAME\n%s \\- %s\n.SH DESCRIPTION\n", roff(name), roff(title)
}
/^```/ {
  fenced = !fenced
  print fenced ? (gap ? ".PP\n.nf" : ".nf") : ".fi"
  gap = !fenced
  next
}
fenced { gap = 0; put($0 == "" ? "\\&" : roff($0)); next }
/^# / { next }
/^## / { gap = table = 0; headed = 1; print ".SH " roff(toupper(substr($0, 4))); next }
/^###/ { gap = table = 0; headed = 1; sub(/^#+ /, ""); print ".SS " roff($0); next }
/^\|[-| :]+\|$/ { table = 1; gap = 0; next }
/^\|/ {
  if (table) row($0)
  next  # the heading above the rule
}
table && !/^#/ { table = 0; gap = 1 }
/^- / { gap = 0; print ".IP \\(bu 2"; put(inline(substr($0, 3))); next }
/^[0-9]+\. / { gap = 0; match($0, /^[0-9]+\./); print ".IP " substr($0, 1, RLENGTH) " 4"; put(inline(substr($0, RLENGTH + 2))); next }
/^ *$/ { gap = NR > 3 && !headed; next }
{ headed = 0 }
{ sub(/^ +/, ""); put(inline($0)) }
