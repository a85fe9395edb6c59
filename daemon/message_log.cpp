#include "daemon/message_log.h"

#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/base_sink.h>
#include <spdlog/sinks/stdout_color_sinks.h>
#include <spdlog/spdlog.h>

#include <cstdlib>
#include <memory>
#include <mutex>
#include <utility>

#include "daemon/message_limit.h"
#include "schemas/values/shown_text.h"

namespace foundling {
namespace {

// A fault that comes and goes for days must not fill the disk by its messages.
constexpr int at_once = 60;
constexpr std::chrono::seconds one_every{5};

class LimitedSink final : public spdlog::sinks::base_sink<std::mutex> {
 public:
  explicit LimitedSink(spdlog::sink_ptr behind) : behind_(std::move(behind)) {}

 protected:
  void sink_it_(const spdlog::details::log_msg& message) override {
    if (!limit_.admit(MessageLimit::Clock::now())) return;
    if (const auto held_back = limit_.take_held_back(); held_back > 0) {
      const std::string words = std::to_string(held_back) + " messages were held back";
      behind_->log({message.logger_name, spdlog::level::warn, words});
    }
    // Names of files and interfaces, and what instruments and SQLite say, are others' words.
    const std::string words = shown_lines({message.payload.data(), message.payload.size()});
    spdlog::details::log_msg clean = message;
    clean.payload = words;
    behind_->log(clean);
  }
  void flush_() override { behind_->flush(); }
  void set_pattern_(const std::string& pattern) override { behind_->set_pattern(pattern); }
  void set_formatter_(std::unique_ptr<spdlog::formatter> formatter) override {
    behind_->set_formatter(std::move(formatter));
  }

 private:
  spdlog::sink_ptr behind_;
  MessageLimit limit_{at_once, one_every};
};

// "<4>": how the journal is told that a line is a warning (sd-daemon(3), syslog(3)).
class Priority final : public spdlog::custom_flag_formatter {
 public:
  void format(const spdlog::details::log_msg& message, const std::tm&,
              spdlog::memory_buf_t& text) override {
    constexpr std::string_view marks[] = {"<7>", "<7>", "<6>", "<4>", "<3>", "<2>", "<6>"};
    const std::string_view mark = marks[static_cast<std::size_t>(message.level)];
    text.append(mark.data(), mark.data() + mark.size());
  }
  [[nodiscard]] std::unique_ptr<custom_flag_formatter> clone() const override {
    return spdlog::details::make_unique<Priority>();
  }
};

}  // namespace

void set_up_message_log() {
  auto out = std::make_shared<spdlog::sinks::stderr_color_sink_mt>();
  const auto limited = std::make_shared<LimitedSink>(std::move(out));
  spdlog::set_default_logger(std::make_shared<spdlog::logger>("foundlingd", limited));
  auto form = std::make_unique<spdlog::pattern_formatter>();
  if (std::getenv("JOURNAL_STREAM") != nullptr) {
    form->add_flag<Priority>('*').set_pattern("%*%v");  // the journal has the time
  } else {
    form->set_pattern("%Y-%m-%d %H:%M:%S %n: %^%l%$: %v");
  }
  spdlog::set_formatter(std::move(form));
}

}  // namespace foundling
