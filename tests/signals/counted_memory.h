// The bytes that a program has from operator new, counted: the same in every build, where the
// resident size of a process is mostly its sanitizer's.
#pragma once

#include <cstddef>

namespace foundling {

// The most at one time since start_counting, beyond what was held then.
[[nodiscard]] std::size_t peak_bytes();
void start_counting();

}  // namespace foundling
