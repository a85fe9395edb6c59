#include "tools/can_interface.h"

#include "schemas/link/link_message.h"

namespace foundling {

Result<CanInterface> find_can_interface(const std::string& name) {
  const auto link = can_link(name);
  if (!link) return link.error();
  return CanInterface{link->name, link->index, link->kind, link->up};
}

}  // namespace foundling
