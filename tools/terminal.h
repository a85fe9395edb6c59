// What the terminal behind a stream can do: nothing where there is none.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

[[nodiscard]] bool is_terminal(int file);

// Colours and rewritten lines: a terminal that is not called dumb and, for colours, no NO_COLOR in
// the environment (any value but the empty one, as no-color.org asks).
[[nodiscard]] bool shows_colour(int file);
[[nodiscard]] bool can_rewrite_lines(int file);

// Columns of the terminal; `otherwise` where there is none or it does not say.
[[nodiscard]] int terminal_width(int file, int otherwise);

// What moves the cursor or colours is written under a key that each run draws for itself. Only
// with_terminal_codes, on the way out, makes it a control sequence; a file cannot know the key, so
// what stands in a file is shown.
[[nodiscard]] std::string terminal_code(std::string_view sequence);  // "[31m", without the escape
[[nodiscard]] std::string with_terminal_codes(std::string_view text,
                                              std::string (*rest)(std::string_view));
// Back to the line's beginning, which is wiped.
[[nodiscard]] std::string line_anew();

enum class Colour { red, green, yellow, dim };
// `text` in that colour where `file` shows colours, else as it is.
[[nodiscard]] std::string coloured(int file, Colour colour, std::string_view text);

}  // namespace foundling
