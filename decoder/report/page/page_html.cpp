#include "decoder/report/page/page_html.h"

#include <array>
#include <utility>

#include "schemas/values/shown_text.h"

namespace foundling {

std::string script_safe(const std::string& json) {
  std::string text;
  text.reserve(json.size() + json.size() / 64);
  for (std::size_t i = 0; i < json.size(); ++i) {
    const char c = json[i];
    if (c == '<') {
      text += "\\u003c";
    } else if (c == '>') {
      text += "\\u003e";
    } else if (c == '&') {
      text += "\\u0026";
    } else if (json.compare(i, 3, "\xE2\x80\xA8") == 0) {
      text += "\\u2028";
      i += 2;
    } else if (json.compare(i, 3, "\xE2\x80\xA9") == 0) {
      text += "\\u2029";
      i += 2;
    } else {
      text += c;
    }
  }
  return text;
}

std::string html_text(std::string_view text) {
  std::string out;
  for (const char c : shown(text)) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string page_html(const PageParts& parts, const std::string& title, const std::string& json) {
  const std::string safe_title = html_text(title);
  const std::string data = script_safe(json);
  const std::array<std::pair<std::string_view, std::string_view>, 7> places{{
      {"{{title}}", safe_title},
      {"{{plot style}}", parts.plot_style},
      {"{{style}}", parts.style},
      {"{{data}}", data},
      {"{{plot licence}}", parts.plot_licence},
      {"{{plot script}}", parts.plot_script},
      {"{{script}}", parts.script},
  }};
  std::string page;
  page.reserve(data.size() + parts.plot_script.size() + parts.script.size() + 65536);
  // One walk over the frame: what is filled in is never looked at for places again.
  for (std::string_view rest = parts.html; !rest.empty();) {
    const std::size_t at = rest.find("{{");
    page += rest.substr(0, at);
    if (at == std::string_view::npos) break;
    rest.remove_prefix(at);
    std::size_t used = 2;
    for (const auto& [place, text] : places) {
      if (!rest.starts_with(place)) continue;
      page += text;
      used = place.size();
    }
    rest.remove_prefix(used);
  }
  return page;
}

}  // namespace foundling
