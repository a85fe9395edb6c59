#include "tools/exchange/layout/frames_layout.h"

#include "schemas/values/nearest_word.h"

namespace foundling {
namespace {

std::string_view to_string(LayoutBase base) { return base == LayoutBase::hex ? "hex" : "decimal"; }

Result<LayoutBase> base_of(const LayoutItem& item) {
  if (item.size() == 2 || item[2] == "hex") return LayoutBase::hex;
  if (item[2] == "decimal") return LayoutBase::decimal;
  return layout_error(item, "hex or decimal");
}

class LayoutReader {
 public:
  Result<FramesLayout> read(std::string_view words) {
    for (const LayoutItem& item : layout_items(words)) {
      const auto of_table = take_table_item(item, layout_.table);
      if (!of_table) return of_table.error();
      if (*of_table) continue;
      if (auto taken = take(item); !taken) return taken.error();
    }
    if (auto fine = check_table_layout(layout_.table); !fine) return fine.error();
    if (layout_.identifier == 0 || layout_.data_first == 0) {
      const bool identifier = layout_.identifier == 0;
      return Error{ErrorCode::usage,
                   std::string("layout: it does not say where the ") +
                       (identifier ? "identifier is: identifier COLUMN hex"
                                   : "bytes are: data FIRST..LAST hex, or data COLUMN hex")};
    }
    for (const std::size_t column : used_) {
      if (column != layout_.table.time) continue;
      return Error{ErrorCode::usage,
                   "layout: column " + std::to_string(column) + " is the time and something else"};
    }
    return layout_;
  }

 private:
  Result<void> take(const LayoutItem& item) {
    const std::string& word = item.front();
    const bool with_base = word == "identifier" || word == "data";
    if (!with_base && word != "bus" && word != "extended" && word != "length") return unknown(item);
    if (item.size() < 2 || item.size() > (with_base ? 3U : 2U)) {
      return layout_error(item, word + " COLUMN" + (with_base ? " hex" : ""));
    }
    if (word == "data") return take_data(item);
    const auto column = layout_column(item, item[1], used_);
    if (!column) return column.error();
    if (word == "bus") layout_.bus = *column;
    if (word == "extended") layout_.extended = *column;
    if (word == "length") layout_.length = *column;
    if (word != "identifier") return {};
    layout_.identifier = *column;
    const auto base = base_of(item);
    if (!base) return base.error();
    layout_.identifier_base = *base;
    return {};
  }

  Result<void> take_data(const LayoutItem& item) {
    const std::string& columns = item[1];
    const std::size_t dots = columns.find("..");
    const auto first = layout_column(item, std::string_view(columns).substr(0, dots), used_);
    if (!first) return first.error();
    layout_.data_first = layout_.data_last = *first;
    if (dots != std::string::npos) {
      std::vector<std::size_t> none;
      const std::string_view end = std::string_view(columns).substr(dots + 2);
      const auto last = end.empty() ? Result<std::size_t>(*first + FramesLayout::to_the_end)
                                    : layout_column(item, end, none);
      if (!last) return last.error();
      if (*last <= *first || *last - *first >= 64) {
        return layout_error(item, "two to 64 columns, the first before the last");
      }
      for (std::size_t c = *first + 1; c <= *last && !end.empty(); ++c) {
        if (auto free = layout_column(item, std::to_string(c), used_); !free) return free.error();
      }
      layout_.data_last = *last;
    }
    const auto base = base_of(item);
    if (!base) return base.error();
    layout_.data_base = *base;
    return {};
  }

  static Error unknown(const LayoutItem& item) {
    const std::vector<std::string> words{"separator",  "decimal", "skip",     "time", "bus",
                                         "identifier", "length",  "extended", "data"};
    const auto near = nearest_word(item.front(), words);
    Error error = layout_error(item,
                               "separator, decimal, skip, time, bus, identifier, extended, length "
                               "or data");
    if (near) error.message += ", did you mean \"" + *near + "\"?";
    return error;
  }

  FramesLayout layout_;
  std::vector<std::size_t> used_;
};

}  // namespace

Result<FramesLayout> parse_frames_layout(std::string_view words) {
  return LayoutReader().read(words);
}

std::string frames_layout_words(const FramesLayout& layout) {
  std::string words = table_layout_words(layout.table);
  const auto say = [&](const char* name, const std::optional<std::size_t>& column) {
    if (column) words += std::string(", ") + name + ' ' + std::to_string(*column);
  };
  say("bus", layout.bus);
  say("identifier", layout.identifier);
  words += ' ' + std::string(to_string(layout.identifier_base));
  say("extended", layout.extended);
  say("length", layout.length);
  say("data", layout.data_first);
  const std::size_t more = layout.data_last - layout.data_first;
  if (more > 0) words += "..";
  if (more > 0 && more < FramesLayout::to_the_end) words += std::to_string(layout.data_last);
  return words + ' ' + std::string(to_string(layout.data_base));
}

}  // namespace foundling
