#include "tools/stimulus_marks.h"

#include <algorithm>
#include <charconv>
#include <iostream>

#include "schemas/capture/capture_writer.h"
#include "tools/one_transaction.h"
#include "tools/stimulus_session.h"

namespace foundling {
namespace {

using Words = std::vector<std::string>;

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

// One line: a list stays a list, and a terminal is not upset.
Result<std::string> text_of(const Words& words) {
  constexpr std::size_t longest = 2000;
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : " ") + word;
  if (text.empty()) return usage("mark: expected some words");
  if (text.size() > longest) return usage("mark: at most 2000 bytes");
  const bool odd = std::any_of(text.begin(), text.end(),
                               [](char c) { return static_cast<unsigned char>(c) < 32; });
  if (odd) return usage("mark: one line, without control characters");
  return text;
}

Result<std::int64_t> time_of(const SessionRow& session, const StimulusOrder& order) {
  if (!order.at) {
    auto now = recording_now_ns(session, order.capture, order.given_ns);
    if (!now) return usage(now.error().message + "; say when with --at SECONDS");
    return now;
  }
  const auto at = typed_seconds(*order.at, "--at");
  if (!at) return at;
  const std::string fault =
      session_times(session, order.capture).fault_of(*at, ChannelKind::sample);
  if (!fault.empty()) return usage("--at: " + fault);
  return at;
}

}  // namespace

Result<void> add_stimulus_mark(const Words& words, const StimulusOrder& order) {
  const auto text = text_of(words);
  if (!text) return text.error();
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = stimulus_session(*reader, order.capture, order.session);
  if (!session) return session.error();
  const auto at = time_of(*session, order);
  if (!at) return at.error();
  const auto write = [&](CaptureWriter& writer) -> Result<void> {
    const auto number = writer.add_mark(session->id, {*at, "note", *text});
    if (!number) return number.error();
    std::cerr << "mark m" << *number << ": " << *text << '\n';
    return {};
  };
  return order.at ? in_one_transaction(order.capture, write)
                  : in_running_session(order.capture, session->id, write);
}

bool names_mark(const std::string& word) {
  return word.size() > 1 && word[0] == 'm' &&
         word.find_first_not_of("0123456789", 1) == std::string::npos;
}

Result<void> correct_stimulus_mark(const Words& words, const StimulusOrder& order) {
  std::int64_t number = 0;
  const std::string& name = words[0];
  const auto read = std::from_chars(name.data() + 1, name.data() + name.size(), number);
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = stimulus_session(*reader, order.capture, order.session);
  if (!session) return session.error();
  const auto marks = reader->marks(session->id);
  if (!marks) return marks.error();
  const auto old = std::find_if(marks->begin(), marks->end(),
                                [&](const StoredMark& mark) { return mark.id == number; });
  if (read.ec != std::errc{} || old == marks->end()) {
    return Error{ErrorCode::not_found, "session " + std::to_string(session->id) + " has no mark " +
                                           name + "; `list` shows their numbers"};
  }
  if (old->mark.kind != "note") return usage("mark " + name + " belongs to a bench plan's run");
  if (order.withdraw) {
    auto writer = CaptureWriter::open(order.capture, stimulus_patience);
    if (!writer) return writer.error();
    if (auto done = writer->withdraw_mark(number); !done) return done;
    std::cerr << "mark " << name << " withdrawn\n";
    return writer->close();
  }
  const auto text = text_of(Words(words.begin() + 1, words.end()));
  if (!text) return text.error();
  auto writer = CaptureWriter::open(order.capture, stimulus_patience);
  if (!writer) return writer.error();
  const auto made = writer->supersede_mark(number, *text);
  if (!made) return made.error();
  std::cerr << "mark m" << *made << ": " << *text << '\n';
  return writer->close();
}

}  // namespace foundling
