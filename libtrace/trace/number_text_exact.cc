/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The only C++ of the library: C has no exact number text that ignores the locale, the C++
 * run-time has both directions (ISO/IEC 14882:2017, section 23.2, "Primitive numeric conversions").
 * Neither throws nor allocates. */
#include "number_text_exact.h"

#include <charconv>
#include <system_error>

namespace {
constexpr std::size_t room = 32;
}

extern "C" bool shot_number_read_exact(const char *text, const char *end, double *out) {
    return std::from_chars(text, end, *out).ec == std::errc();
}

extern "C" std::size_t shot_number_write_exact(char *out, double value, int digits) {
    constexpr auto form = std::chars_format::scientific;
    auto result = digits == 0 ? std::to_chars(out, out + room, value, form)
                              : std::to_chars(out, out + room, value, form, digits - 1);
    return static_cast<std::size_t>(result.ptr - out);
}
