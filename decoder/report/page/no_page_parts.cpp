// A build without npm: the rest of Foundling is whole, `foundling report` says what is missing.
#include "decoder/report/page/page_html.h"

namespace foundling {

bool page_is_built_in() { return false; }

PageParts built_in_parts() { return {}; }

}  // namespace foundling
