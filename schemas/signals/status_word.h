// A signal's status as the map writes it.
#pragma once

#include <string_view>

#include "schemas/signals/signal_map.h"

namespace foundling {

[[nodiscard]] constexpr std::string_view status_word(Status status) {
  switch (status) {
    case Status::confirmed:
      return "confirmed";
    case Status::refuted:
      return "refuted";
    case Status::proposed:
      break;
  }
  return "proposed";
}

}  // namespace foundling
