#!/usr/bin/python3
"""Hold the published schemas to the reader: one verdict of both on many good and bad files.

    schemas.py THREEPASS TREE

Every row edits one value of a good file. `threepass check` and the schema (JSON Schema 2020-12, by
python3-jsonschema) must both take the outcome or both refuse it. Rows marked BEYOND are refused by
the reader for what no schema can know: ids that must be known, and what values mean together.
"""

import copy
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

from jsonschema import Draft202012Validator

GONE = object()
SAME, BEYOND = False, True
TEXT = {"en": "x", "pl": "x"}
STEPS = [{"id": "a", "text": TEXT}, {"id": "b", "text": TEXT}]
GIVEN = [{"row": "brass/middle", "value": "removed", "should_be": "missed"}]
LATE = {"kind": "reject-late", "by_ms": 90}
CELL = ["scenes", 0]
NEED = ["rubric", -1, "need"]


def rich(scenario):
    """The good file: a shipped scenario and one scene of every kind."""
    more = [
        {"id": "where", "kind": "place", "text": TEXT, "piece": "SS-30-06", "within_percent": 1},
        {"id": "order", "kind": "arrange", "text": TEXT, "steps": STEPS},
        {"id": "given", "kind": "write", "text": TEXT, "given": GIVEN},
    ]
    scenario["scenes"][:0] = more
    del scenario["scripts"]
    return scenario


SCENARIO_ROWS = [
    (["id"], "other", SAME), (["id"], "a b", SAME), (["id"], "x" * 65, SAME), (["id"], GONE, SAME),
    (["format"], "threepass-scenario-2", SAME), (["colour"], 1, SAME), (["title"], {}, SAME),
    (["title"], {"english": "x", "pl": "x"}, SAME), (["title"], "x", SAME),
    (["title", "en"], "", SAME), (["title", "en"], "x" * 4001, SAME), (["site"], GONE, SAME),
    (["line"], "d9", BEYOND), (["line"], 4, SAME), (["product"], "butter-200", BEYOND),
    (["product"], GONE, SAME), (["role"], "boss", SAME), (["role"], "quality", SAME),
    (["plan"], "end", BEYOND), (["plan"], "begin", SAME), (["minutes"], 0, SAME),
    (["minutes"], 61, SAME), (["minutes"], 60, SAME), (["minutes"], 1.5, SAME),
    (["minutes"], "10", SAME), (["date"], "2026-13-01", SAME), (["date"], "2026-02-30", BEYOND),
    (["date"], "today", SAME), (["clock"], "24:00", SAME), (["clock"], "06:00:30", SAME),
    (["clock"], "6:00", SAME), (["clock"], "03:00", BEYOND), (["last_good_check"], GONE, SAME),
    (["fed"], "no", SAME), (["fed"], True, SAME), (["kit"], [], SAME), (["kit", 0], 4, SAME),
    (["kit", 0], "NF-25-02", SAME), (["kit", 0], "FE-99", BEYOND),
    (["kit"], {"one_of": [["FE-20-04"], ["NF-25-02"]]}, SAME),
    (["kit"], {"one_of": [["FE-20-04", "NF-25-02", "SS-30-06", "WIRE-12"], ["WIRE-12"]]}, SAME),
    (["kit"], {"one_of": [["FE-20-04", "NF-25-02", "SS-30-06"]]}, SAME),
    (["kit"], {"one_of": [["FE-20-04"], []]}, SAME), (["kit"], "FE-20-04", SAME),
    (["stock", 0, "place"], "yard", SAME), (["stock", 0, "packs"], -1, SAME),
    (["stock", 0, "packs"], 10000001, SAME), (["stock", 0, "from"], "05:60", SAME),
    (["stock", 0, "from"], "05:59", BEYOND), (["stock"], [], SAME), (["stock"], GONE, SAME),
    (["faults", 0, "kind"], "reject-never", SAME), (["faults", 0, "by_ms"], 0, SAME),
    (["faults", 0, "by_ms"], 10000.5, SAME), (["faults", 0, "by_ms"], 0.5, SAME),
    (["faults", 0, "by_ms"], GONE, SAME), (["faults", 0, "after_passes"], 1001, SAME),
    (["faults", 0, "after_passes"], 1000, SAME), (["faults", 0, "product"], "loaf-800", SAME),
    (["faults"], [LATE] * 9, SAME), (["faults", 0], {"one_of": [[LATE], []]}, SAME),
    (["faults", 0], {"one_of": [[LATE]]}, SAME), (["faults", 0], {"one_of": [LATE, []]}, SAME),
    (["faults", 0], {"one_of": [[], []], "by_ms": 1}, SAME),
    (["faults", 0], {"kind": "sensitivity-changed", "signal_needed_percent": 9}, SAME),
    (["faults", 0], {"kind": "sensitivity-changed", "signal_needed_percent": 300}, SAME),
    (["faults", 0], {"kind": "wrong-program", "product": "rusk-400"}, SAME),
    (["faults", 0], {"kind": "wrong-program", "product": "rusks"}, BEYOND),
    (["faults", 0], {"kind": "lane-dead", "lane": 1}, SAME), (["faults", 0], {"kind": "lane-dead"}, SAME),
    (["faults", 0], {"kind": "lane-dead", "lane": 0}, SAME), (["faults", 0], {"kind": "lane-dead", "lane": 9}, SAME),
    (["faults", 0], {"kind": "lane-dead", "lane": 2}, BEYOND),
    (["faults", 0], {"kind": "belt-speed", "percent": 9}, SAME), (["faults", 0], {"kind": "jam", "lane": 1}, SAME),
    (["faults", 0], {"kind": "low-air", "blows": 2}, SAME),
    (["faults", 0], {"kind": "alarm-cleared", "what": "low-air", "minutes_before": 9}, SAME),
    (["faults", 0], {"kind": "alarm-cleared", "what": "smoke", "minutes_before": 9}, SAME),
    (["scenes"], [], SAME), (CELL, "tell", SAME), (CELL + ["kind"], "show", SAME),
    (CELL + ["kind"], "tell", SAME), (CELL + ["id"], "end", SAME), (CELL + ["id"], "check", BEYOND),
    (CELL + ["text"], GONE, SAME), (CELL + ["hint"], TEXT, SAME), (CELL + ["hint"], "x", SAME),
    (CELL + ["next"], "order", SAME), (CELL + ["next"], "nowhere", BEYOND),
    (CELL + ["next"], "check", BEYOND), (CELL + ["within_percent"], 0, SAME),
    (CELL + ["within_percent"], 1001, SAME), (CELL + ["within_percent"], GONE, SAME),
    (CELL + ["piece"], "SS-31", BEYOND), (CELL + ["ask"], "hardest", SAME),
    (CELL + ["when"], [], SAME), (CELL + ["when"], [{"seen": "alarm", "next": "end"}], SAME),
    (CELL + ["when"], [{"seen": "alarms", "next": "end"}], BEYOND),
    (CELL + ["when"], [{"seen": "alarm"}], SAME), (CELL + ["when"], [{"next": "end"}], SAME),
    (CELL + ["when"], [{"right_at_least": 1, "next": "end"}], SAME),
    (CELL + ["when"], [{"right_at_least": 0, "next": "end"}], SAME),
    (CELL + ["when"], [{"seen": "alarm", "right_at_least": 1, "next": "end"}], SAME),
    (["scenes", 1, "steps"], STEPS[:1], SAME), (["scenes", 1, "steps", 0, "after"], [], SAME),
    (["scenes", 1, "steps", 0, "after"], ["b"], BEYOND), (["scenes", 1, "steps", 0, "x"], 1, SAME),
    (["scenes", 1, "steps", 1, "after"], [4], SAME), (["scenes", 1, "steps", 0, "text"], GONE, SAME),
    (["scenes", 2, "given"], [], SAME), (["scenes", 2, "given", 0, "row"], "brass middle", SAME),
    (["scenes", 2, "given", 0, "should_be"], GONE, SAME),
    (["scenes", 2, "given", 0, "should_be"], "removed", BEYOND),
    (["scenes", 2, "given", 0, "or"], [], SAME), (["scenes", 2, "given", 0, "or"], ["x"], SAME),
    (["scenes", 4, "ask"], "hard", SAME), (["scenes", 4, "piece"], "SS-30-06", BEYOND),
    (["scenes", 6, "answers", 0, "right"], True, SAME),
    (["scenes", 6, "answers", 1, "right"], GONE, SAME),
    (["scenes", 6, "answers", 0, "mistake"], "M33", SAME),
    (["scenes", 6, "answers", 0, "mistake"], "M32", SAME),
    (["scenes", 6, "answers", 1, "mistake"], "M1", SAME),
    (["scenes", 6, "answers", 0, "id"], "again", BEYOND), (["scenes", 6, "shuffle"], True, SAME),
    (["scenes", 6, "shuffle"], 1, SAME), (["scenes", 6, "next"], "sheet", SAME),
    (["scenes", 6, "answers"], [{"id": "a", "text": TEXT, "right": True}], SAME),
    (["rubric"], [], SAME), (["rubric", 0, "critical"], "K14", SAME),
    (["rubric", 0, "critical"], "K04", SAME), (["rubric", 0, "critical"], "K13", SAME),
    (["rubric", 0, "points"], -1, SAME), (["rubric", 0, "points"], 1001, SAME),
    (["rubric", 0, "mistake"], "M10", SAME), (["rubric", 0, "mistake"], "10", SAME),
    (["rubric", 0, "id"], "pieces", BEYOND), (["rubric", 0, "why"], TEXT, SAME),
    (["rubric", 0, "need"], {"rule": "right-programs"}, SAME),
    (["rubric", 0, "need"], {"rule": "full-recheck"}, SAME),
    (["rubric", 0, "need"], {"rule": "find-kept", "at_least": 2}, SAME), (NEED, {}, SAME),
    (NEED, {"seen": "stop", "never": "stop"}, SAME), (NEED, {"seen": ""}, SAME),
    (NEED, {"seen": "halt"}, BEYOND), (NEED, {"seen": "stop", "at_least": 2}, SAME),
    (NEED, {"never": "release", "at_least": 2}, SAME), (NEED, {"seen": "stop", "within_s": 5}, SAME),
    (NEED, {"seen": "stop", "after": "alarm", "within_s": 5}, SAME),
    (NEED, {"seen": "stop", "after": "alarm", "within_s": 3601}, SAME),
    (NEED, {"in_order": ["stop"]}, SAME), (NEED, {"in_order": ["stop", "start"]}, SAME),
    (NEED, {"in_order": ["stop", 1]}, SAME), (NEED, {"for_every": "stop"}, SAME),
    (NEED, {"for_every": "stop", "followed_by": "start", "within_s": 9}, SAME),
    (NEED, {"for_every": "stop", "followed_by": "start", "preceded_by": "start"}, SAME),
    (NEED, {"for_every": "removed", "preceded_by": "pack-sent", "same": ["pack"]}, SAME),
    (NEED, {"for_every": "removed", "preceded_by": "pack-sent", "same": ["piece"]}, BEYOND),
    (NEED, {"seen": "stop", "same": ["pack"]}, SAME), (["pass_percent"], 0, SAME),
    (["pass_percent"], 101, SAME), (["pass_percent"], GONE, SAME), (["needs"], ["alarm"], SAME),
    (["scripts"], {"right": "a.txt"}, SAME), (["scripts"], {"right": "../a.txt"}, SAME),
    (["scripts"], {"right": []}, SAME), (["scripts"], {"right": ["a.txt", "b.txt"]}, SAME),
    (["scripts"], {"misses": {}}, SAME), (["scripts"], {"right": "a", "misses": {"K04": "b"}}, SAME),
    (["scripts"], {"right": "a", "misses": {"K13": "b"}}, BEYOND),
]

HEAD, PRODUCT, PIECE, LINE = ["heads", 0], ["products", 0], ["pieces", 0], ["lines", 0]
PLAN = LINE + ["check_plans", "start"]
SKILL = ["competences", 0]
SITE_ROWS = [
    (["format"], "threepass-site-2", SAME), (["id"], "", SAME), (["name"], GONE, SAME),
    (["languages"], [], SAME), (["languages"], ["en", "en"], SAME), (["languages"], ["e"], SAME),
    (["release_by"], "food-safety-team-leader", SAME), (["release_by"], "food-safety", SAME),
    (["people", 0, "role"], "food-safety-team-leader", SAME), (["release_by"], "supervisor", SAME), (["release_by"], "trainer", SAME), (["people"], [], SAME),
    (["people"], GONE, SAME), (["people", 0, "shift"], "noon", SAME),
    (["people", 0, "role"], "trainer", SAME), (["people", 1, "name"], "Ife", BEYOND),
    (["heads"], [], SAME), (HEAD + ["kind"], "box", BEYOND), (HEAD + ["aperture_width_mm"], 19, SAME),
    (HEAD + ["false_reject_rate"], 0, SAME), (HEAD + ["false_reject_rate"], 0.6, SAME),
    (HEAD + ["found_probability"], 0.4, SAME), (HEAD + ["colour"], "red", SAME),
    (PRODUCT + ["length_mm"], 0.5, SAME), (PRODUCT + ["length_mm"], "110", SAME),
    (PRODUCT + ["columns"], [2], SAME), (PRODUCT + ["columns"], [1, 1], SAME),
    (PRODUCT + ["columns"], [1, 51], SAME), (PRODUCT + ["sealed"], True, SAME),
    (PRODUCT + ["sealed"], "yes", SAME), (PRODUCT + ["piece_goes"], ["over"], SAME),
    (PRODUCT + ["piece_goes"], [], SAME), (PRODUCT + ["piece_goes"], ["on-top", "on-top"], SAME),
    (PIECE + ["form"], "wire", SAME), (PIECE + ["form"], "puck", SAME), (PIECE + ["form"], "x", SAME),
    (PIECE + ["length_mm"], 5, SAME), (PIECE + ["certificate"], GONE, SAME),
    (PIECE + ["good_until"], "2027-00-01", SAME), (PIECE + ["good_until"], "2027-02-29", BEYOND),
    (PIECE + ["state"], "lost", SAME), (PIECE + ["metal"], "tin-foil", BEYOND),
    (PIECE + ["id"], "NF-20-05", BEYOND), (["pieces", 9, "length_mm"], GONE, SAME),
    (["pieces", 9, "length_mm"], 0.6, BEYOND), (LINE + ["head"], "d-big", BEYOND),
    (LINE + ["belt_mm_s"], 5001, SAME), (LINE + ["lanes"], 2, SAME),
    (LINE + ["lanes"], 0, SAME), (LINE + ["lanes"], 9, SAME), (LINE + ["lanes"], 8, BEYOND), (LINE + ["lanes"], GONE, SAME),
    (LINE + ["fail_safes"], [], SAME), (LINE + ["fail_safes"], ["encoder", "power"], SAME),
    (LINE + ["fail_safes"], ["power", "power"], SAME), (LINE + ["fail_safes"], ["guard"], SAME),
    (LINE + ["fail_safes"], "power", SAME), (LINE + ["alarms_reset_by"], "quality", SAME),
    (LINE + ["alarms_reset_by"], "trainer", SAME), (LINE + ["eye_mm"], 10, SAME), (LINE + ["reject", "kind"], "arm", SAME),
    (LINE + ["reject", "bin_packs"], 0, SAME), (LINE + ["reject", "bin_packs"], 10001, SAME),
    (LINE + ["programs"], [], SAME), (LINE + ["programs", 0, "validated"], [], SAME),
    (LINE + ["programs", 0, "product"], "loaf", BEYOND), (LINE + ["check_plans"], {}, SAME),
    (PLAN + ["minutes"], 60, SAME), (LINE + ["check_plans", "interval", "minutes"], GONE, SAME),
    (PLAN + ["good_run"], 1001, SAME), (PLAN + ["off_centre_mm"], 20, SAME),
    (PLAN + ["bin_opened_by"], "nobody", SAME), (PLAN + ["passes", 0, "order"], "by-luck", SAME),
    (PLAN + ["passes", 0, "places"], ["middle", "middle"], SAME),
    (PLAN + ["passes", 0, "pieces"], ["brass", "brass"], SAME), (PLAN + ["passes"], [], SAME),
    (["competences"], GONE, SAME), (["competences"], [], SAME), (["competences"], {}, SAME),
    (SKILL + ["id"], GONE, SAME), (SKILL + ["id"], "a b", SAME), (SKILL + ["id"], "take-over", BEYOND),
    (SKILL + ["title"], "x", SAME), (SKILL + ["title"], TEXT, SAME), (SKILL + ["title"], GONE, SAME),
    (SKILL + ["role"], "operator", SAME), (SKILL + ["role"], "trainer", SAME),
    (SKILL + ["role"], GONE, SAME), (SKILL + ["level"], 1, SAME), (SKILL + ["lines"], [], SAME),
    (SKILL + ["lines"], GONE, SAME), (SKILL + ["lines"], ["d1"], SAME),
    (SKILL + ["lines"], ["d1", "d1"], SAME), (SKILL + ["lines"], ["d9"], BEYOND),
    (SKILL + ["lines"], [1], SAME), (SKILL + ["lines"], "d1", SAME), (SKILL + ["scenarios"], [], SAME),
    (SKILL + ["scenarios"], GONE, SAME), (SKILL + ["scenarios"], ["the-beep"], SAME),
    (SKILL + ["scenarios"], ["the beep"], SAME), (SKILL + ["scenarios"], ["a", "a"], SAME),
    (SKILL + ["scenarios"], [f"s{i}" for i in range(32)], SAME),
    (SKILL + ["scenarios"], [f"s{i}" for i in range(33)], SAME),
    (SKILL + ["checklist"], [], SAME), (SKILL + ["checklist"], GONE, SAME),
    (SKILL + ["checklist"], [{"id": "a", "text": TEXT}], SAME),
    (SKILL + ["checklist"], [{"id": "a", "text": TEXT, "answer": True}], SAME),
    (SKILL + ["checklist"], [{"id": "a", "text": TEXT}] * 2, BEYOND),
    (SKILL + ["checklist"], [{"id": f"a{i}", "text": TEXT} for i in range(30)], SAME),
    (SKILL + ["checklist"], [{"id": f"a{i}", "text": TEXT} for i in range(31)], SAME),
    (SKILL + ["checklist", 0, "text"], {}, SAME), (SKILL + ["checklist", 0, "id"], GONE, SAME),
    (SKILL + ["rules"], {}, SAME), (SKILL + ["rules"], [], SAME),
    (SKILL + ["rules"], {"valid_years": 1}, SAME), (SKILL + ["rules"], {"valid_months": 0}, SAME),
    (SKILL + ["rules"], {"valid_months": 60}, SAME), (SKILL + ["rules"], {"valid_months": 61}, SAME),
    (SKILL + ["rules"], {"valid_months": 1.5}, SAME),
    (SKILL + ["rules"], {"first_review_months": 0}, SAME),
    (SKILL + ["rules"], {"first_review_months": 61}, SAME),
    (SKILL + ["rules"], {"absence_months": -1}, SAME), (SKILL + ["rules"], {"absence_months": 0}, SAME),
    (SKILL + ["rules"], {"retake_wait_hours": 720}, SAME),
    (SKILL + ["rules"], {"retake_wait_hours": 721}, SAME),
    (SKILL + ["rules"], {"fails_before_retrain": 10}, SAME),
    (SKILL + ["rules"], {"fails_before_retrain": 11}, SAME),
    (SKILL + ["rules"], {"due_days": 365}, SAME), (SKILL + ["rules"], {"due_days": 366}, SAME),
    (SKILL + ["rules"], {"named_buddy": False}, SAME), (SKILL + ["rules"], {"named_buddy": 0}, SAME),
    (SKILL + ["rules"], {"other_form_after_failure": "no"}, SAME),
    (SKILL + ["rules"], {"trainer_not_sole_assessor": False}, SAME),
]

STEP = ["steps", 0]
COURSE_ROWS = [
    (["format"], "threepass-course-2", SAME), (["id"], "a b", SAME), (["id"], GONE, SAME),
    (["title"], {}, SAME), (["title"], "x", SAME), (["title"], GONE, SAME), (["site"], GONE, SAME),
    (["site"], "other-mill", BEYOND), (["competence"], GONE, SAME), (["competence"], "", SAME),
    (["competence"], "any", SAME), (["colour"], 1, SAME), (["steps"], [], SAME),
    (["steps"], GONE, SAME), (["steps"], {}, SAME), (["steps"], "x", SAME), (STEP, "first-pass", SAME),
    (STEP + ["as"], "lesson", SAME), (STEP + ["as"], GONE, SAME), (STEP + ["as"], "assessment", SAME),
    (STEP + ["scenario"], GONE, SAME), (STEP + ["scenario"], 4, SAME), (STEP + ["x"], 1, SAME),
    (STEP + ["scenario"], "second-pass", BEYOND), (STEP + ["scenario"], "nine-passes", BEYOND),
    (["steps", 1, "as"], "practice", SAME),
    (["steps"], [{"scenario": "nine-passes", "as": "assessment"}], SAME),
    (["steps"], [{"scenario": f"s{n}", "as": "assessment"} for n in range(101)], SAME),
]


def edited(good, path, value):
    """A copy of the good file with one value put in or taken out."""
    file = copy.deepcopy(good)
    at = file
    for key in path[:-1]:
        at = at[key]
    if value is GONE:
        del at[path[-1]]
    else:
        at[path[-1]] = value
    return file


def refused(program, folder):
    """The files that the reader refuses, and the first thing it says of each."""
    out = subprocess.run([program, "check", "--json", folder], capture_output=True, check=False)
    said = {}
    for finding in json.loads(out.stdout)["findings"]:
        if finding["severity"] != "error":
            continue
        match = re.match(r"(.*?\.json):\d+:\d+: error: (.*)", finding["text"])
        if match is None:
            sys.exit("no place: " + finding["text"])
        said.setdefault(os.path.relpath(match.group(1), folder), match.group(2))
    return said


def main():
    program, tree = sys.argv[1:]
    schemas, goods = {}, {}
    for kind, shipped in (("site", "site"), ("scenario", "the-beep"), ("course", "courses/routine-check")):
        with open(f"{tree}/docs/schemas/{kind}.schema.json", encoding="utf-8") as file:
            schema = json.load(file)
        Draft202012Validator.check_schema(schema)
        schemas[kind] = Draft202012Validator(schema)
        with open(f"{tree}/scenarios/ostrel-mill/{shipped}.json", encoding="utf-8") as file:
            goods[kind] = json.load(file)
    rich(goods["scenario"])
    goods["course"]["steps"] = [{"scenario": "first-pass", "as": "practice"},
                                {"scenario": "nine-passes", "as": "assessment"}]
    rows = [("site", [], None, SAME), ("scenario", [], None, SAME), ("course", [], None, SAME)]
    rows += [("site", *row) for row in SITE_ROWS] + [("scenario", *row) for row in SCENARIO_ROWS]
    rows += [("course", *row) for row in COURSE_ROWS]
    places = {"site": "site%d/site.json", "scenario": "scenarios/f%d.json",
              "course": "scenarios/courses/f%d.json"}
    wrong = 0
    for path in sorted(glob.glob(f"{tree}/scenarios/*/*.json")):  # the reader's tests take each
        kind = "site" if path.endswith("/site.json") else "scenario"
        with open(path, encoding="utf-8") as file:
            document = json.load(file)
        if document["format"] == f"threepass-{kind}-1" and not schemas[kind].is_valid(document):
            wrong += 1
            print(f"{path}: the schema refuses it")
    with tempfile.TemporaryDirectory() as folder:
        names, files = [], []
        for number, (kind, path, value, _) in enumerate(rows):
            file = edited(goods[kind], path, value) if path else goods[kind]
            name = places[kind] % number
            os.makedirs(os.path.dirname(f"{folder}/{name}"), exist_ok=True)
            with open(f"{folder}/{name}", "w", encoding="utf-8") as out:
                json.dump(file, out)
            names.append(name)
            files.append(file)
        with open(f"{folder}/scenarios/site.json", "w", encoding="utf-8") as out:
            json.dump(goods["site"], out)
        for name in ("first-pass", "nine-passes"):  # scenarios that courses name
            shutil.copy(f"{tree}/scenarios/ostrel-mill/{name}.json", f"{folder}/scenarios")
        for name in ("a.txt", "b.txt"):  # scripts that rows name
            with open(f"{folder}/scenarios/{name}", "w", encoding="utf-8"):
                pass
        said = refused(program, folder)
    for name, file, (kind, path, value, beyond) in zip(names, files, rows):
        takes = schemas[kind].is_valid(file)
        reads = name not in said
        if (takes and not reads) if beyond else takes == reads:
            continue
        wrong += 1
        shown = "(left out)" if value is GONE else json.dumps(value)[:60]
        print(f"{kind} {path} {shown}: the schema {'takes' if takes else 'refuses'} it,",
              f"the reader says: {said.get(name, 'nothing')}")
    print(f"{len(rows)} files, {wrong} verdicts that differ")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
