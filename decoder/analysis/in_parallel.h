// The same work for many items at once, on as many threads as the machine has cores. The items must
// not share what they write; the results are those of a loop, in whatever order they are made.
#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace foundling {

// Calls work(i) for every i below `count`. The first exception ends the work and is thrown again.
template <typename Work>
void in_parallel(std::size_t count, Work work) {
  std::atomic<std::size_t> next{0};
  std::exception_ptr fault;
  std::mutex fault_lock;
  const auto run = [&] {
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        work(i);
      } catch (...) {
        const std::lock_guard lock(fault_lock);
        if (!fault) fault = std::current_exception();
        next = count;
      }
    }
  };
  const std::size_t cores = std::max(1U, std::thread::hardware_concurrency());
  std::vector<std::thread> helpers;
  for (std::size_t k = 1; k < std::min(cores, count); ++k) helpers.emplace_back(run);
  run();
  for (std::thread& helper : helpers) helper.join();
  if (fault) std::rethrow_exception(fault);
}

}  // namespace foundling
