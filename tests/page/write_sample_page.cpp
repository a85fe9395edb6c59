// Writes the sample page to the file that is named, for the browser test.
#include <fstream>
#include <iostream>

#include "decoder/report/page/page_html.h"
#include "decoder/report/page/page_json.h"
#include "tests/page/sample_page.h"

int main(int argc, char** argv) {
  if (argc != 2) {
    std::cerr << "usage: write_sample_page OUT.html\n";
    return 2;
  }
  const foundling::test::SamplePage sample;
  const foundling::PageInput input = sample.input();
  std::ofstream out(argv[1], std::ios::binary);
  out << foundling::page_html(foundling::built_in_parts(), input.title,
                              foundling::page_json(input));
  return out.flush() ? 0 : 2;
}
