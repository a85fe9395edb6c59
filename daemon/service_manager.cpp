#include "daemon/service_manager.h"

#include <systemd/sd-daemon.h>

#include <condition_variable>
#include <cstdint>
#include <cstdlib>
#include <deque>
#include <mutex>
#include <thread>

namespace foundling {
namespace {

// Beyond these the oldest go: the newest sign of life says it all.
constexpr std::size_t most_waiting = 8;
constexpr std::chrono::seconds longest_farewell{1};

}  // namespace

struct ServiceManager::Speaker {
  std::mutex mutex;
  std::condition_variable changed;
  std::deque<std::string> waiting;
  bool ending = false, ended = false;

  void speak() {
    std::unique_lock lock(mutex);
    for (;;) {
      changed.wait(lock, [this] { return ending || !waiting.empty(); });
      if (waiting.empty()) break;
      const std::string lines = std::move(waiting.front());
      waiting.pop_front();
      lock.unlock();
      // A manager that is not there any more is no reason to stop recording.
      (void)sd_notify(0, lines.c_str());
      lock.lock();
    }
    ended = true;
    changed.notify_all();
  }
};

ServiceManager::ServiceManager() {
  std::uint64_t microseconds = 0;
  if (sd_watchdog_enabled(0, &microseconds) > 0) {
    watchdog_ = std::chrono::microseconds(microseconds);
  }
  if (std::getenv("NOTIFY_SOCKET") == nullptr) return;
  speaker_ = std::make_shared<Speaker>();
  std::thread([speaker = speaker_] { speaker->speak(); }).detach();
}

ServiceManager::~ServiceManager() {
  if (!speaker_) return;
  std::unique_lock lock(speaker_->mutex);
  speaker_->ending = true;
  speaker_->changed.notify_all();
  speaker_->changed.wait_for(lock, longest_farewell, [this] { return speaker_->ended; });
}

void ServiceManager::tell(const std::string& lines) {
  if (!speaker_) return;
  const std::lock_guard lock(speaker_->mutex);
  speaker_->waiting.push_back(lines);
  if (speaker_->waiting.size() > most_waiting) speaker_->waiting.pop_front();
  speaker_->changed.notify_all();
}

}  // namespace foundling
