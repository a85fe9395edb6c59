// One HTML page that needs nothing else: markup, style, scripts and data in one text. Names and
// notes of a capture are data, never markup: whatever they hold is shown as text.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

struct PageParts {        // made by the build; see page/CMakeLists.txt
  std::string_view html;  // with places for the others
  std::string_view style;
  std::string_view plot_style;  // the plot library's
  std::string_view plot_script;
  std::string_view plot_licence;
  std::string_view script;
};

// False in a build without npm (FOUNDLING_REPORT=OFF).
[[nodiscard]] bool page_is_built_in();
[[nodiscard]] PageParts built_in_parts();

[[nodiscard]] std::string page_html(const PageParts& parts, const std::string& title,
                                    const std::string& json);

// JSON that stays JSON inside a script element: no <, >, &, and no line end of Unicode's own.
[[nodiscard]] std::string script_safe(const std::string& json);
[[nodiscard]] std::string html_text(std::string_view text);  // as text or attribute value

}  // namespace foundling
