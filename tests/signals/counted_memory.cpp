#include "tests/signals/counted_memory.h"

#include <malloc.h>

#include <algorithm>
#include <cstdlib>
#include <new>

namespace {

std::size_t held = 0;  // tests here have one thread
std::size_t most = 0;
std::size_t at_start = 0;

}  // namespace

namespace foundling {

std::size_t peak_bytes() { return most - at_start; }

void start_counting() {
  at_start = held;
  most = held;
}

}  // namespace foundling

void* operator new(std::size_t size, const std::nothrow_t& /*tag*/) noexcept {
  void* const place = std::malloc(size);
  if (place == nullptr) return nullptr;
  held += malloc_usable_size(place);
  most = std::max(most, held);
  return place;
}

void* operator new(std::size_t size) {
  void* const place = operator new(size, std::nothrow);
  if (place == nullptr) throw std::bad_alloc();
  return place;
}

void operator delete(void* place) noexcept {
  held -= malloc_usable_size(place);
  std::free(place);
}

void operator delete(void* place, std::size_t /*size*/) noexcept { operator delete(place); }

void operator delete(void* place, const std::nothrow_t& /*tag*/) noexcept {
  operator delete(place);
}
