#!/bin/sh
# A newcomer's way through the real window under a virtual display: newcomer.sh WAY PROGRAM WALK
#
# WAY is pointer, keys (real events from outside the process) or fingers (touch events inside it).
# WALK (walk.c) knows the way. When the window is closed its store must hold what WALK did, run by run
# and action by action, and verify.
set -eu

if [ "${4:-}" != inside ]; then
    exec sh "$(dirname -- "$0")/display.sh" sh "$0" "$1" "$2" "$3" inside
fi

way=$1
program=$2
walk=$3
work=$(mktemp -d)
store=$work/store
pid=
export SDL_AUDIODRIVER=dummy SDL_RENDER_DRIVER=software
# The home may be read-only, of which the graphics library would complain.
export HOME="$work" MESA_SHADER_CACHE_DISABLE=true
# The desktop's own libraries keep memory to the end; the window's is watched by test_ui_monkey.
export ASAN_OPTIONS=detect_leaks=0
trap 'if [ -n "$pid" ]; then kill -9 "$pid" 2>/dev/null || true; fi; rm -rf "$work"' EXIT

fail()
{
    echo "newcomer.sh, by $way: $*" >&2
    cat "$work"/said >&2 || true
    exit 1
}

mkfifo "$work/touches"
if [ "$way" = fingers ]; then
    "$walk" window "$store" <"$work/touches" >"$work/said" 2>&1 &
    pid=$!
    exec 3>"$work/touches"
else
    "$program" --store "$store" --size 1280x800 >"$work/said" 2>&1 &
    pid=$!
fi
for _ in $(seq 100); do
    if xdotool search --name Threepass >/dev/null 2>&1; then break; fi
    sleep 0.2
done
sleep 1
window=$(xdotool search --name Threepass | tail -n 1)
[ -n "$window" ] || fail 'no window'
xdotool mousemove --window "$window" 640 400
sleep 0.5

if [ "$way" = fingers ]; then
    "$walk" fingers 0 "$work/wanted" >&3 || fail 'the walk was broken off'
    exec 3>&- # the window closes
else
    mkfifo "$work/lines"
    xdotool - <"$work/lines" &
    hands=$!
    "$walk" "$way" "$window" "$work/wanted" >"$work/lines" || fail 'the walk was broken off'
    wait "$hands" || fail 'xdotool'
    kill "$pid"
fi
status=0
wait "$pid" || status=$?
pid=
[ $status -eq 0 ] || fail "the window ended with $status"
[ ! -s "$work/said" ] || fail 'the window said something'

"$walk" runs "$store" >"$work/is"
diff "$work/wanted" "$work/is" >&2 || fail 'the store (>) does not hold what was done (<)'
"$program" records verify --store "$store" >"$work/said" 2>&1 || fail 'the store does not verify'
"$program" records show --store "$store" >"$work/said"
grep -q 'Ife, assessment, nine-passes.*: competent' "$work/said" || fail 'no assessment is shown'
[ "$(grep -c 'Ife, practice, ' "$work/said")" = 2 ] || fail 'not two practices are shown'
cat "$work/said"
