// A page as a person reads it: counted, or in hexadecimal where it is a data identifier.
#pragma once

#include <cstdint>
#include <string>

namespace foundling {

[[nodiscard]] std::string page_number_text(std::uint64_t page);

}  // namespace foundling
