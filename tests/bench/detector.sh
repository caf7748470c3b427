#!/bin/sh
# The detector against the plain numpy program, in one run and on one core:
#
#   tests/bench/detector.sh BUILD    a build's folder with tests/bench_detector in it
#
# numpy goes first, for about a minute. Ratios count, and those of several runs.
set -eu
build=$(CDPATH='' cd -- "$1" && pwd)
cd "$(dirname -- "$0")/../.."
seconds=$(mktemp)
trap 'rm -f "$seconds"' EXIT
OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 /usr/bin/python3 -B tools/numpy_detector.py --time \
    >"$seconds"
"$build/tests/bench_detector" "$seconds"
