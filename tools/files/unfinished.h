// Names for what is under construction, beside where it will be: NAME.unfinished-XXXXXXXXXXXXXXXX,
// 16 random letters that nobody can have prepared. Whoever builds holds a lock on it; what has no
// holder was left by a killed program, and goes when the same name is built next.
#pragma once

#include <cstddef>
#include <string>

#include "schemas/values/result.h"

namespace foundling {

class Unfinished {
 public:
  enum class Kind { file, folder };  // both for the user alone
  static Result<Unfinished> begin(const std::string& target, Kind kind);
  Unfinished(Unfinished&& other) noexcept;
  Unfinished& operator=(Unfinished&&) = delete;
  ~Unfinished();  // removes it unless it was kept, with all in it

  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] int descriptor() const { return descriptor_; }
  // It has its own name now.
  void keep() { name_.clear(); }

 private:
  Unfinished(std::string name, int descriptor) : name_(std::move(name)), descriptor_(descriptor) {}

  std::string name_;  // empty: nothing to remove
  int descriptor_ = -1;
};

// Gives what lies at `from` the name `to`, and syncs the folder, so that the name outlives a power
// cut. With `over`, what is at `to` goes in the same moment; else a name that is taken is refused.
[[nodiscard]] Result<void> give_name(const std::string& from, const std::string& to, bool over);

}  // namespace foundling
