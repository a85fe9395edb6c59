#include "decoder/relate/relate.h"

#include "decoder/relate/alike.h"

namespace foundling::relate {

Relations find_relations(std::span<const MessageSeries> messages, const Survey& survey,
                         std::span<const ChannelSeries> channels) {
  LookedAt seen = look_at(messages, survey);
  Relations out;
  const auto groups = alike_groups(seen.fields);
  if (!groups.empty()) out.largest_alike = groups.front();
  out.sums = find_sums(seen, groups);
  if (!out.sums.empty() && out.sums.front().strong) {
    out.scale = scale_of_sum(seen, out.sums.front(), channels);
  }
  out.window_s = seen.grid.window_s;
  out.seconds = static_cast<double>(seen.grid.windows) * seen.grid.window_s;
  out.fields = std::move(seen.fields);
  return out;
}

}  // namespace foundling::relate
