/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Titles of columns in the usual spellings. */
#include "stream/column_names.h"

#include <string.h>

#include <shottrace/trace/unit.h>

#include "ascii.h"
#include "stream/absolute_pressure.h"
#include "stream/cell_text.h"
#include "stream/word_list.h"

/* --------------------------------------------------------------------------------- spellings - */

/* A word that says the word before it again adds nothing: "flow.flow" is flow. */
static void drop_repeated_word(shot_text *words, size_t last) {
    size_t length = words->length - last;
    if (last < length + 1 ||
        memcmp(words->bytes + last - 1 - length, words->bytes + last, length) != 0)
        return;
    if (last == length + 1 || words->bytes[last - 2 - length] == ' ') {
        words->length = last - 1;
        words->bytes[words->length] = '\0';
    }
}

/* Words in lower case with one blank between them: "waterFlow_rate" is "water flow rate". */
static shot_status plain_words(const char *text, size_t length, shot_text *out) {
    shot_text_clear(out);
    bool gap = false;
    size_t last = 0; /* where the last word starts */
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if (!word_is_letter(c) && !ascii_is_digit(c)) {
            gap = true;
            continue;
        }
        bool hump = i > 0 && c >= 'A' && c <= 'Z' && text[i - 1] >= 'a' && text[i - 1] <= 'z';
        if ((gap || hump) && out->length > 0) {
            drop_repeated_word(out, last);
            SHOT_TRY(shot_text_add(out, " "));
            last = out->length;
        }
        gap = false;
        c = word_lower(c);
        SHOT_TRY(shot_text_add_bytes(out, &c, 1));
    }
    SHOT_TRY(shot_text_add(out, ""));
    if (last > 0)
        drop_repeated_word(out, last);
    return SHOT_OK;
}

/* The usual words for each channel (common practice, no source), the plainest first: English, and
 * the plain words of German, French, Italian, Spanish, Portuguese, Dutch, Japanese, Chinese and
 * Korean.  The last three stand at the end, in that order, as bytes of UTF-8, so that any compiler
 * reads them: jikan, shijian, sigan (time); atsuryoku, yali, amnyeok (pressure); ryuryo or
 * liuliang, yuryang (flow); juryo or zhongliang, muge (weight); ondo or wendu, ondo (temperature).
 */
static const struct {
    const char *channel, *words;
} spellings[] = {
    {"time",
     "time|t|elapsed|elapsed time|time elapsed|shot time|brew time|zeit|temps|tempo|tiempo|"
     "timestamp|time stamp|datetime|date time|date and time|clock|uptime|date|timer|stopwatch|"
     "uhrzeit|ts|datum zeit|datum uhrzeit|datum und uhrzeit|fecha hora|fecha y hora|"
     "zeitstempel|laufzeit|time utc|utc time|timestamp utc|datetime utc|local time|time local|"
     "relative time|rel time|recording time|min sec|min s|mm ss|m ss|hh mm ss|h mm "
     "ss|tijd|\xe6\x99\x82\xe9\x96\x93|"
     "\xe6\x97\xb6\xe9\x97\xb4|\xec\x8b\x9c\xea\xb0\x84"},
    {"pressure",
     "pressure|p|press|brew pressure|group pressure|brewing pressure|puck pressure|pump pressure|"
     "basket pressure|water pressure|actual pressure|current pressure|pressure actual|druck|"
     "gauge pressure|pressure gauge|gauge reading|gauge|needle|needle pressure|pressure needle|"
     "manometer|manometre|manom\xc3\xa8tre|manometro|pression|pressione|p group|group p|"
     "br\xc3\xbchdruck|pumpendruck|wasserdruck|presion|presi\xc3\xb3n|group press|grp press|"
     "grp pressure|pressure group|pressure brew|pressure puck|pressure pump|pressure basket|"
     "press\xc3\xa3o|pressao|druk|\xe5\x9c\xa7\xe5\x8a\x9b|\xe5\x8e\x8b\xe5\x8a\x9b|"
     "\xec\x95\x95\xeb\xa0\xa5"},
    {"flow",
     "flow|q|flow rate|flowrate|water flow|water flow rate|pump flow|flow in|inflow|basket flow|"
     "actual flow|current flow|flow actual|durchfluss|fluss|d\xc3\xa9"
     "bit|flusso|portata|caudal|flujo|flow group|flow pump|flow basket|flow water|vaz\xc3\xa3o|"
     "vazao|debiet|\xe6\xb5\x81\xe9\x87\x8f|\xec\x9c\xa0\xeb\x9f\x89"},
    {"outflow", "outflow|out flow|flow out|weight flow|weight flow rate|mass flow|mass flow rate|"
                "gravimetric flow|scale flow|scale flow rate|beverage flow|cup flow"},
    {"weight",
     "weight|mass|w|scale|scale weight|beverage weight|beverage mass|cup weight|shot weight|"
     "yield|gewicht|waage|poids|peso|weight scale|\xe9\x87\x8d\xe9\x87\x8f|"
     "\xeb\xac\xb4\xea\xb2\x8c"},
    {"temperature",
     "temperature|temp|water temperature|water temp|brew temperature|brew temp|basket temperature|"
     "basket temp|group temperature|group temp|temperatur|br\xc3\xbchtemperatur|"
     "wassertemperatur|temp\xc3\xa9rature|temperatura|temperature group|temp group|"
     "temperature basket|temp basket|temperature water|temperatuur|\xe6\xb8\xa9\xe5\xba\xa6|"
     "\xec\x98\xa8\xeb\x8f\x84"},
    {"water", "water|water used|water dispensed|water volume|dispensed water|wasser|eau|acqua|"
              "pumped water|water pumped|pumped volume|volume pumped"},
    {"wanted.pressure",
     "wanted pressure|target pressure|pressure target|pressure goal|goal pressure|set pressure|"
     "pressure set|pressure setpoint|setpoint pressure|pressure set point|desired pressure"},
    {"wanted.flow",
     "wanted flow|target flow|flow target|flow goal|goal flow|set flow|flow set|flow setpoint|"
     "setpoint flow|flow set point|desired flow"},
};

/* Titles that are nothing but a unit, as a hand writes them over its columns: "sec, bar, g".  Units
 * that other things are measured in as well (C, V, l) say too little. */
static const struct {
    const char *channel, *words;
} unit_titles[] = {
    {"time", "s|sec|secs|second|seconds|sek|sekunden|ms|msec|millis|millisecond|milliseconds|us|"
             "usec|micros|microseconds|ns|nanoseconds|min|minutes"},
    {"pressure", "bar|psi"},
    {"flow", "ml s|mlps|mlpm"},
    {"outflow", "g s"},
    {"weight", "g|gram|grams|gramm"},
};

/* Words that say where a value lies in its log, not what it is: "data.flow.value" is flow. */
static const char *const places =
    "data|log|sample|samples|reading|readings|series|measurement|measurements|sensor|sensors|"
    "state|shot|value|values";

/* The words of a title with points but for such places; all of them if nothing else is left. */
static shot_status without_places(const char *text, size_t length, shot_text *out) {
    int place;
    shot_text part = {0};
    shot_status status = SHOT_OK;
    shot_text_clear(out);
    for (size_t start = 0; start <= length && status == SHOT_OK;) {
        const char *point = start < length ? memchr(text + start, '.', length - start) : NULL;
        size_t end = point != NULL ? (size_t)(point - text) : length;
        status = plain_words(text + start, end - start, &part);
        if (status == SHOT_OK && !word_is_listed(part.bytes, places, &place)) {
            if (out->length > 0)
                status = shot_text_add(out, ".");
            if (status == SHOT_OK)
                status = shot_text_add_bytes(out, text + start, end - start);
        }
        start = end + 1;
    }
    shot_text_free(&part);
    if (status == SHOT_OK && out->length == 0)
        status = shot_text_add_bytes(out, text, length);
    return status;
}

static const shot_channel_kind *kind_meant(const char *words, int *rank) {
    for (size_t i = 0; i < sizeof spellings / sizeof *spellings; i++)
        if (word_is_listed(words, spellings[i].words, rank))
            return shot_channel_kind_of(spellings[i].channel);
    return NULL;
}

/* ------------------------------------------------------------------------------------- units - */

/* No unit that a person writes is longer, in bytes; a cell of a thousand words is not searched
 * through from each of them. */
enum { LONGEST_UNIT = 48 };

static void trim(const char **text, size_t *length) {
    shot_cell all = {*text, *length}, bare = shot_cell_trimmed(&all);
    *text = bare.text;
    *length = bare.length;
}

/* How a stopwatch is read, which a hand writes where others have the unit of time. */
static bool is_clock_form(const char *text, size_t length) {
    static const char *const forms = "mm:ss|m:ss|min:sec|min:s|hh:mm:ss|h:mm:ss|hh:mm";
    return word_is_among(text, length, forms);
}

bool shot_title_is_unit(const char *text, size_t length) {
    shot_text unit = {0};
    bool known = false;
    trim(&text, &length);
    if (length > LONGEST_UNIT)
        return false;
    if (length >= 2 && strchr("[(", text[0]) != NULL && strchr("])", text[length - 1]) != NULL) {
        text++;
        length -= 2;
    }
    if (length == 0 || (length == 1 && *text == '-') || is_clock_form(text, length))
        return true;
    shot_status status = shot_unit_spelling(text, length, &unit, &known);
    shot_text_free(&unit);
    return status == SHOT_OK && known;
}

/* ------------------------------------------------------------------------------------ titles - */

static shot_status set_name(shot_title *title, const char *text, size_t length) {
    shot_text words = {0}, bare = {0};
    trim(&text, &length);
    shot_text_clear(&title->name);
    shot_status status = shot_text_add_bytes(&title->name, text, length);
    title->kind = NULL;
    if (length == 0) /* a row may have very many of these */
        return status;
    if (status == SHOT_OK)
        status = without_places(text, length, &bare);
    if (status == SHOT_OK)
        status = plain_words(bare.bytes, bare.length, &words);
    shot_text_free(&bare);
    if (status == SHOT_OK) /* by convention t is time, T temperature */
        title->kind =
            kind_meant(strcmp(title->name.bytes, "T") == 0 ? "temp" : words.bytes, &title->rank);
    shot_text_free(&words);
    return status;
}

/* `NAME [UNIT]` says a unit; `NAME (UNIT)` does if it is one, or one of absolute pressure, which is
 * refused later, or the form of a clock; else it is part of the name. */
static shot_status cut_brackets(shot_title *title, const char *text, size_t *length) {
    char closing = *length > 0 ? text[*length - 1] : '\0';
    char opening = closing == ']' ? '[' : closing == ')' ? '(' : '\0';
    size_t at = *length;
    while (at > 0 && text[at - 1] != opening)
        at--;
    if (opening == '\0' || at < 2)
        return SHOT_OK;
    bool known, absolute;
    SHOT_TRY(shot_unit_spelling(text + at, *length - at - 1, &title->unit, &known));
    SHOT_TRY(shot_unit_is_absolute(text + at, *length - at - 1, &absolute));
    known = known || absolute || is_clock_form(text + at, *length - at - 1);
    if (!known && (closing == ')' || title->unit.length == 0))
        shot_text_clear(&title->unit);
    else
        *length = at - 1;
    return SHOT_OK;
}

/* Does the unit, which may be one of absolute pressure, belong to what the name means? */
static shot_status unit_fits(const shot_title *title, bool *fits) {
    bool absolute;
    SHOT_TRY(shot_unit_is_absolute(title->unit.bytes, title->unit.length, &absolute));
    *fits = title->kind != NULL &&
            shot_unit_same_kind(absolute ? "bar" : title->unit.bytes, title->kind->unit);
    return SHOT_OK;
}

/* `NAME_UNIT` and its kin: the longest tail that is a unit of the channel that the rest means. */
static shot_status cut_tail(shot_title *title, const char *text, size_t length) {
    for (size_t at = length > LONGEST_UNIT ? length - LONGEST_UNIT : 1; at + 1 < length; at++) {
        if (strchr("_/,. -", text[at]) == NULL)
            continue;
        bool known, absolute, fits;
        SHOT_TRY(shot_unit_spelling(text + at + 1, length - at - 1, &title->unit, &known));
        SHOT_TRY(shot_unit_is_absolute(text + at + 1, length - at - 1, &absolute));
        if (!known && !absolute)
            continue;
        SHOT_TRY(set_name(title, text, at));
        SHOT_TRY(unit_fits(title, &fits));
        if (fits)
            return SHOT_OK;
    }
    shot_text_clear(&title->unit);
    return set_name(title, text, length);
}

/* `NAME / UNIT`, a quantity over its unit (SI Brochure, 9th ed., 5.4.1), of a name that means no
 * channel. */
static shot_status cut_quotient(shot_title *title, const char *text, size_t length) {
    size_t at = length;
    while (at > 0 && text[at - 1] != '/')
        at--;
    bool known = false;
    if (at >= 3 && at < length && text[at - 2] == ' ' && text[at] == ' ')
        SHOT_TRY(shot_unit_spelling(text + at, length - at, &title->unit, &known));
    if (known)
        SHOT_TRY(set_name(title, text, at - 1));
    if (known && title->kind == NULL)
        return SHOT_OK;
    shot_text_clear(&title->unit);
    return known ? set_name(title, text, length) : SHOT_OK;
}

/* A title that is a unit and nothing else; in brackets, which speak of a name that is missing, only
 * the clock's, of which a table has one. */
static shot_status channel_by_unit(shot_title *title) {
    int rank;
    bool known;
    shot_text words = {0};
    const bool bare = title->name.length > 0 && strchr("[(", title->name.bytes[0]) == NULL;
    const size_t count = bare ? sizeof unit_titles / sizeof *unit_titles : 1;
    shot_status status = plain_words(title->name.bytes, title->name.length, &words);
    for (size_t i = 0; i < count && status == SHOT_OK; i++)
        if (word_is_listed(words.bytes, unit_titles[i].words, &rank)) {
            title->kind = shot_channel_kind_of(unit_titles[i].channel);
            title->rank = 100 + rank;
            status = shot_unit_spelling(i == 0 ? words.bytes : title->name.bytes,
                                        i == 0 ? words.length : title->name.length, &title->unit,
                                        &known);
        }
    shot_text_free(&words);
    return status;
}

/* How many bytes at the start of a text are a blank at which no line breaks (U+00A0, U+202F), as
 * spreadsheets put it before a unit; 0 if none are. */
static size_t unbroken_blank(const char *text, size_t length) {
    if (length >= 2 && memcmp(text, "\xc2\xa0", 2) == 0)
        return 2;
    return length >= 3 && memcmp(text, "\xe2\x80\xaf", 3) == 0 ? 3 : 0;
}

static shot_status plain_blanks(const char *text, size_t length, shot_text *out) {
    for (size_t i = 0; i < length;) {
        const size_t blank = unbroken_blank(text + i, length - i);
        SHOT_TRY(shot_text_add_bytes(out, blank > 0 ? " " : text + i, 1));
        i += blank > 0 ? blank : 1;
    }
    return SHOT_OK;
}

static shot_status read_title(const char *text, size_t length, shot_title *out) {
    trim(&text, &length);
    shot_text_clear(&out->name);
    shot_text_clear(&out->unit);
    SHOT_TRY(shot_text_add(&out->unit, ""));
    SHOT_TRY(cut_brackets(out, text, &length));
    SHOT_TRY(set_name(out, text, length));
    if (out->kind == NULL && out->unit.length == 0)
        SHOT_TRY(cut_tail(out, text, length));
    if (out->kind == NULL && out->unit.length == 0)
        SHOT_TRY(channel_by_unit(out));
    if (out->kind == NULL && out->unit.length == 0)
        SHOT_TRY(cut_quotient(out, text, length));
    return SHOT_OK;
}

shot_status shot_title_read(const char *text, size_t length, shot_title *out) {
    shot_text plain = {0};
    if (length == 0 ||
        (memchr(text, '\xc2', length) == NULL && memchr(text, '\xe2', length) == NULL))
        return read_title(text, length, out);
    shot_status status = plain_blanks(text, length, &plain);
    if (status == SHOT_OK)
        status = read_title(plain.bytes, plain.length, out);
    shot_text_free(&plain);
    return status;
}

bool shot_title_names_time(const char *text, size_t length) {
    const size_t longest = 256; /* in bytes: what is longer is prose, or many cells taken for one */
    shot_title title = {0};
    bool is_time = length <= longest && shot_title_read(text, length, &title) == SHOT_OK &&
                   title.kind != NULL && strcmp(title.kind->name, "time") == 0;
    shot_title_free(&title);
    return is_time;
}

void shot_title_free(shot_title *title) {
    shot_text_free(&title->name);
    shot_text_free(&title->unit);
    *title = (shot_title){0};
}
