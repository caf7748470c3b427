/* The program's own words in one language, read from assets/texts/LANGUAGE.json. */
#ifndef APP_TEXTS_H
#define APP_TEXTS_H

#include "app/app.h"
#include "records/competence.h"

typedef struct Texts Texts;

/* Read the texts at `path`, LANGUAGE.json; every pattern in them is checked. The caller ends *out
 * with texts_free. ERR_INPUT at the place to blame, ERR_IO. */
MUST_USE bool texts_load(const char *path, Texts **out, Err *err);
void texts_free(Texts *texts);

/* The text under `key` of the section ("reasons", "verdicts"); the key itself when there is none,
 * so that a gap shows. Borrowed. */
const char *texts_get(const Texts *texts, const char *section, const char *key);

/* Put the language's decimal sign, the word "decimal", in the place of a number's point. */
void texts_localise(const Texts *texts, char *number);

/* Append millimetres for people: "2.0", "0.35". */
void texts_add_mm(const Texts *texts, int64_t um, Text *out);

/* Append one log line as a sentence for people, without an end of line. False, and nothing added,
 * when the texts have none for it: it is nothing that a person would notice. */
bool texts_tell(const Texts *texts, const Scenario *scenario, const LogLine *line, Text *out);

/* Append a word of the log as people say it; of a row of the sheet, "metal/place", both parts. */
void texts_add_word(const Texts *texts, const char *word, Text *out);

/* The same; a product of the scenario's site by its name in the language. */
void texts_add_name(const Texts *texts, const Scenario *scenario, const char *word, Text *out);

/* What a finding is about, which has something: of a row that is missing, the row's name rather
 * than the piece's. `log` is the one that was judged. */
void texts_add_about(const Texts *texts, const Scenario *scenario, const ScoreFinding *finding,
                     const LogLine *log, Text *out);

/* Append the time of day of a run's moment, "10:03:20". */
void texts_add_clock(const Scenario *scenario, int64_t time_us, Text *out);

/* Append a score for people: verdict and why, then each rubric line with its state, reason and the
 * log lines that show it. `language` chooses the scenario's own texts. */
void texts_tell_score(const Texts *texts, const char *language, const Scenario *scenario,
                      const Score *score, const LogLine *log, Text *out);

/* Append the sentence for one reason of a standing: what is so, and what to do next. */
void texts_tell_standing(const Texts *texts, const RecReason *reason, Text *out);

#endif
