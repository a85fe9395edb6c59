// The command line library's complaints in this project's own words, for both programs.
#pragma once

#include <string>

namespace foundling {

// `complaint`: as the library words it, with the option's name in it. What is not known here comes
// back as it was.
[[nodiscard]] std::string plain_usage_words(const std::string& complaint);

}  // namespace foundling
