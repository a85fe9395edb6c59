// Takes a result's value, or fails the test with the error's text.
#pragma once

#include <doctest/doctest.h>

#include <utility>

#include "schemas/values/result.h"

namespace foundling {

template <typename T>
T must(Result<T> result) {
  if (!result) FAIL(result.error().message);
  return std::move(result).value();
}

inline void must(const Result<void>& result) {
  if (!result) FAIL(result.error().message);
}

}  // namespace foundling
