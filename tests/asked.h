/* A scenario that asks in every way there is, on line D1 of the shipped site; and how to make a
 * work of it, or of any other text. */
#ifndef TESTS_ASKED_H
#define TESTS_ASKED_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "app/work.h"

#define ASKED_HEAD                                                                                 \
    "{\"format\": \"threepass-scenario-1\", \"id\": \"asked\", \"title\": {\"en\": \"Asked\"},\n"  \
    " \"site\": \"ostrel-mill\", \"line\": \"d1\", \"product\": \"butter-200\",\n"                 \
    " \"role\": \"line-checker\", \"plan\": \"start\", \"minutes\": 10, \"date\": \"2026-03-02\"," \
    "\n \"clock\": \"06:00\", \"last_good_check\": \"06:00\", \"fed\": false,\n"

static const char ASKED[] = ASKED_HEAD
    " \"kit\": {\"one_of\": [[\"FE-15-03\"], [\"FE-15-03\", \"SS-25-07\"]]},\n"
    " \"faults\": [{\"one_of\": [[{\"kind\": \"reject-late\", \"by_ms\": 90}], []]}],\n"
    " \"scenes\": [\n"
    "  {\"id\": \"sheet\", \"kind\": \"write\", \"text\": {\"en\": \"Brass was missed. Correct "
    "it.\"},\n"
    "   \"given\": [\n"
    "    {\"row\": \"brass/middle\", \"value\": \"removed\", \"should_be\": \"missed\"},\n"
    "    {\"row\": \"result\", \"value\": \"good\", \"should_be\": \"failed\"},\n"
    "    {\"row\": \"bin-count\", \"value\": \"3\", \"or\": [\"2\", \"4\"]}]},\n"
    "  {\"id\": \"where\", \"kind\": \"place\", \"text\": {\"en\": \"Where is it hardest to "
    "find?\"},\n"
    "   \"hint\": {\"en\": \"Think of the centre line.\"},\n"
    "   \"piece\": \"SS-25-07\", \"within_percent\": 1},\n"
    "  {\"id\": \"order\", \"kind\": \"arrange\", \"text\": {\"en\": \"A check has failed.\"},\n"
    "   \"steps\": [\n"
    "    {\"id\": \"stop\", \"text\": {\"en\": \"Stop the line\"}},\n"
    "    {\"id\": \"hold\", \"text\": {\"en\": \"Hold the stock\"}},\n"
    "    {\"id\": \"tell\", \"text\": {\"en\": \"Tell quality\"}, \"after\": [\"stop\"]},\n"
    "    {\"id\": \"release\", \"text\": {\"en\": \"Release\"}, \"after\": [\"hold\", "
    "\"tell\"]}],\n"
    "   \"when\": [{\"right_at_least\": 3, \"next\": \"why\"}]},\n"
    "  {\"id\": \"again\", \"kind\": \"tell\", \"text\": {\"en\": \"One of the two was not "
    "right.\"}},\n"
    "  {\"id\": \"why\", \"kind\": \"decide\", \"text\": {\"en\": \"Why?\"}, \"shuffle\": true,\n"
    "   \"answers\": [\n"
    "    {\"id\": \"a\", \"right\": true, \"text\": {\"en\": \"A\"}},\n"
    "    {\"id\": \"b\", \"mistake\": \"M22\", \"text\": {\"en\": \"B\"}},\n"
    "    {\"id\": \"c\", \"text\": {\"en\": \"C\"}}],\n"
    "   \"when\": [{\"seen\": \"answered scene=why right=no\", \"next\": \"work\"}]},\n"
    "  {\"id\": \"praise\", \"kind\": \"tell\", \"text\": {\"en\": \"Right.\"}, \"next\": "
    "\"end\"},\n"
    "  {\"id\": \"work\", \"kind\": \"pass\", \"text\": {\"en\": \"Then see for yourself.\"}}],\n"
    " \"rubric\": [\n"
    "  {\"id\": \"r\", \"critical\": \"K3\", \"points\": 10, \"text\": {\"en\": \"R\"},\n"
    "   \"need\": {\"seen\": \"answered right=yes\", \"at_least\": 4}}],\n"
    " \"pass_percent\": 80}\n";

/* A work of that scenario text on the shipped site; the caller ends it with work_free. */
static inline Work *asked_work(const char *scenario)
{
    Text parts[WORK_PART_COUNT];
    Text text = {0};
    Work *shipped = NULL;
    Work *work = NULL;
    Err err = {0};
    if (!work_read("assets", "scenarios/ostrel-mill", NULL, NULL, NULL, &shipped, &err))
        fail_msg("%s", err.text);
    text_add(&text, scenario);
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        parts[i] = i == WORK_SCENARIO ? text : *work_part(shipped, (WorkPart)i);
    }
    if (!work_from_texts(parts, &work, &err)) fail_msg("%s", err.text);
    work_free(shipped);
    text_clear(&text);
    return work;
}

#endif
