// The project's simulated instrument: answers the queries it was told to, over TCP on this machine
// or over a pseudo-terminal, and misbehaves as asked. Its *IDN? says what it is.
#pragma once

#include <atomic>
#include <chrono>
#include <filesystem>
#include <map>
#include <mutex>
#include <string>
#include <thread>
#include <utility>
#include <vector>

namespace foundling {

class SimulatedInstrument {
 public:
  static constexpr const char* identity = "Foundling,simulated instrument,0001,1.0";

  // `terminal`: the name of a link to its pseudo-terminal; empty: TCP, on a port of its own.
  explicit SimulatedInstrument(std::filesystem::path terminal = {});
  ~SimulatedInstrument();
  SimulatedInstrument(const SimulatedInstrument&) = delete;
  SimulatedInstrument& operator=(const SimulatedInstrument&) = delete;

  [[nodiscard]] std::string address() const;  // "127.0.0.1:PORT", or the link

  void set_answer(const std::string& query, const std::string& answer);
  void set_silent(bool silent) { silent_ = silent; }
  void set_delay(std::chrono::milliseconds delay) { delay_ms_ = delay.count(); }
  void unplug() { plug(false); }
  void plug_in() { plug(true); }
  [[nodiscard]] bool is_plugged_in() const { return is_in_; }

  [[nodiscard]] std::vector<std::string> asked() const;  // all lines that came in
  [[nodiscard]] int connections() const { return connections_; }

 private:
  using Clock = std::chrono::steady_clock;

  void plug(bool in);
  void run();
  void open_port();
  void open_terminal();
  void close_all();
  void serve(int descriptor);
  void take(const std::string& line);
  void send_due(int descriptor);

  const std::filesystem::path terminal_;
  int port_ = 0;
  std::atomic<bool> ending_ = false, wanted_in_ = true, is_in_ = false, silent_ = false;
  std::atomic<std::int64_t> delay_ms_ = 0;
  std::atomic<int> connections_ = 0;
  mutable std::mutex mutex_;
  std::map<std::string, std::string> answers_;
  std::vector<std::string> asked_;
  // The thread's own.
  int listener_ = -1, line_ = -1;
  std::string waiting_;
  std::vector<std::pair<Clock::time_point, std::string>> due_;
  std::thread thread_;
};

}  // namespace foundling
