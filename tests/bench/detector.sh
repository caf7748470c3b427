#!/bin/sh
# The detector against the plain numpy program, in one run and on one core; and the program, as it
# computes one pass, against an empty process:
#
#   tests/bench/detector.sh BUILD    a build's folder with threepass and tests/bench_detector in it
#
# numpy goes first, for about a minute. Ratios count, and those of several runs.
set -eu
build=$(CDPATH='' cd -- "$1" && pwd)
cd "$(dirname -- "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 /usr/bin/python3 -B tools/numpy_detector.py --time \
    >"$work/seconds"
"$build/tests/bench_detector" "$work/seconds"

# The whole process, from its start to its end, against one that does nothing: processor time of
# user and system, in turns.
echo 'int main(void) { return 0; }' >"$work/empty.c"
"${CC:-cc}" -O2 "$work/empty.c" -o "$work/empty"
/usr/bin/python3 -B - "$build/threepass" "$work" <<'END'
import json, os, statistics, sys

program, work = sys.argv[1:]
with open("tests/data/numpy_cases.json") as cases, open(work + "/pass.json", "w") as one:
    json.dump(json.load(cases)["timed"]["pass"], one)


def seconds(words):
    quiet = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    process = os.posix_spawn(words[0], words, os.environ, file_actions=quiet)
    _, status, used = os.wait4(process, 0)
    if status != 0:
        sys.exit(f"{words}: ended with {status}")
    return used.ru_utime + used.ru_stime


rows = [("an empty process", [work + "/empty"], None),
        ("threepass --version", [program, "--version"], None),
        ("threepass pass --json, 1201 points", [program, "pass", "--json", work + "/pass.json"], 3)]
times = [[seconds(row[1]) for row in rows] for _ in range(400)]
print(f"{'':38} {'median s':>14} {'':14} {'ratio':>10} {'goal':>10}")
for at, (name, _, goal) in enumerate(rows):
    ratio = statistics.median(turn[at] for turn in times) / statistics.median(
        turn[0] for turn in times)
    print(f"{name:38} {statistics.median(turn[at] for turn in times):14.6f} {'':14} {ratio:10.2f}"
          f" {goal or '':>10}")
END
