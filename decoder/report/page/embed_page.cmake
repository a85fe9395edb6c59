# Run by the build: puts the page's files and the plot library's into one C++ source.
#   cmake -D TEMPLATE=... -D OUTPUT=... -D PAGE=<folder of the page> -D PLOT=<folder of uplot>
#         -D SCRIPTS=a.js,b.js -P embed_page.cmake
file(READ ${PAGE}/page.html PAGE_HTML)
file(READ ${PAGE}/page.css PAGE_STYLE)
file(READ ${PLOT}/dist/uPlot.min.css PLOT_STYLE)
file(READ ${PLOT}/dist/uPlot.iife.min.js PLOT_SCRIPT)
file(READ ${PLOT}/LICENSE PLOT_LICENCE)
# One literal a script: all in one would be longer than the 65,536 characters that compilers need to take.
set(PAGE_SCRIPTS "")
string(REPLACE "," ";" SCRIPTS "${SCRIPTS}")
foreach(script IN LISTS SCRIPTS)
  file(READ ${PAGE}/${script} text)
  set(script_${script} "${text}\n")
  list(APPEND script_parts script_${script})
  string(APPEND PAGE_SCRIPTS "R\"page_part(${text}\n)page_part\", ")
endforeach()
# What would end the script element or the C++ string early must not be in them.
foreach(part PAGE_STYLE PLOT_STYLE PLOT_SCRIPT PLOT_LICENCE ${script_parts})
  string(TOLOWER "${${part}}" lower)
  foreach(end "</script" "</style" "<!--" ")page_part\"")
    string(FIND "${lower}" "${end}" at)
    if(NOT at EQUAL -1)
      message(FATAL_ERROR "${part} of the report page holds ${end}, which would end it early")
    endif()
  endforeach()
endforeach()
configure_file(${TEMPLATE} ${OUTPUT} @ONLY)
