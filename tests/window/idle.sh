#!/bin/sh
# An idle window draws nothing: idle.sh PROGRAM WATCHER
#
# The real program under a virtual display; WATCHER (presents.c) notes each picture that it shows.
# At the door, with nobody there, none is shown in a second; a key shows one or more; then none
# again. The counts are what is wanted, not the times.
set -eu

if [ "${3:-}" != inside ]; then
    exec sh "$(dirname -- "$0")/display.sh" sh "$0" "$1" "$2" inside
fi

work=$(mktemp -d)
pid=
export SDL_AUDIODRIVER=dummy SDL_RENDER_DRIVER=software HOME="$work"
# A library that is preloaded comes before the sanitizers' own; the desktop's keep memory.
export ASAN_OPTIONS=verify_asan_link_order=0:detect_leaks=0
trap 'if [ -n "$pid" ]; then kill -9 "$pid" 2>/dev/null || true; fi; rm -rf "$work"' EXIT

fail()
{
    echo "idle.sh: $*" >&2
    cat "$work/said" >&2
    exit 1
}

shown()
{
    if [ -f "$work/presents" ]; then wc -l <"$work/presents"; else echo 0; fi
}

# Wait, for at most 20 s, until more than COUNT pictures were shown.
until_shown()
{
    for _ in $(seq 100); do
        if [ "$(shown)" -gt "$1" ]; then return 0; fi
        sleep 0.2
    done
    fail "after $1 pictures no other is shown"
}

# Wait, for at most 20 s, until a second has passed without a picture.
until_idle()
{
    for _ in $(seq 20); do
        before=$(shown)
        sleep 1
        if [ "$(shown)" -eq "$before" ]; then return 0; fi
    done
    fail 'a window in which nothing happens goes on to show pictures'
}

cp "$2" "$work/presents.so" # what is preloaded cannot have a blank in its name
LD_PRELOAD="$work/presents.so" PRESENTS="$work/presents" "$1" --store "$work/store" >"$work/said" 2>&1 &
pid=$!
until_shown 0
until_idle
first=$(shown)
xdotool search --name Threepass windowfocus >"$work/focus" 2>&1 || true
xdotool key Tab
until_shown "$first"
until_idle
echo "shown: $first at the door, $(($(shown) - first)) for a key, none while nothing happened"
