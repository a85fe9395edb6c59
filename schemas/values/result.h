// Result<T>: a value or an Error, never both. An outside fault (a bad file, a missing interface) is
// an Error; exceptions are left for our own bugs and for exhaustion.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <variant>

namespace foundling {

enum class ErrorCode {
  io,         // the operating system refused: message carries its reason
  not_found,  // a file, interface or table that is not there
  exists,     // would overwrite something
  format,     // the content is not what it should be: message carries the place
  version,    // made by a newer version than this one understands
  usage,      // the caller asked for something that cannot be
  busy,       // somebody else holds it
  full,       // no room left
};

struct Error {
  ErrorCode code;
  std::string message;  // one sentence for a person, with its place (file, line, byte, table)
};

template <typename T>
class [[nodiscard]] Result {
 public:
  Result(T value) : state_(std::move(value)) {}      // NOLINT(google-explicit-constructor)
  Result(Error error) : state_(std::move(error)) {}  // NOLINT(google-explicit-constructor)

  [[nodiscard]] bool ok() const { return state_.index() == 0; }
  explicit operator bool() const { return ok(); }
  T& value() & { return std::get<0>(state_); }
  const T& value() const& { return std::get<0>(state_); }
  T&& value() && { return std::get<0>(std::move(state_)); }
  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }
  [[nodiscard]] const Error& error() const { return std::get<1>(state_); }

 private:
  std::variant<T, Error> state_;
};

template <>
class [[nodiscard]] Result<void> {
 public:
  Result() = default;
  Result(Error error) : error_(std::move(error)) {}  // NOLINT(google-explicit-constructor)

  [[nodiscard]] bool ok() const { return !error_; }
  explicit operator bool() const { return ok(); }
  [[nodiscard]] const Error& error() const { return *error_; }

 private:
  std::optional<Error> error_;
};

}  // namespace foundling
