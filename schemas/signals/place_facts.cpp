#include "schemas/signals/place_facts.h"

namespace foundling {

// Members stand in front as a number; words that begin with one are in quotes.
std::optional<fact::Fact> read_where(LineReader& line) {
  PlaceWords place;
  const Token token = line.peek();
  const bool is_number = token.kind == Token::Kind::word && !token.source.empty() &&
                         token.source.front() >= '0' && token.source.front() <= '9';
  if (is_number) {
    place.members = line.code_range("a member or a range of members, such as 15..21");
    if (!place.members) return {};
  }
  auto text = line.text("where it is, such as \"module 3, third from the minus end\"");
  if (!text) return {};
  place.text = *std::move(text);
  return place;
}

std::optional<fact::Fact> read_pin(LineReader& line) {
  Pin pin;
  auto name = line.text("the pin's name, such as 7 or A12");
  if (!name) return {};
  pin.name = *std::move(name);
  auto text = line.text("what is on the pin, such as \"CAN high\"");
  if (!text) return {};
  pin.text = *std::move(text);
  return pin;
}

}  // namespace foundling
