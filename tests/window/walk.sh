#!/bin/sh
# The real program under a virtual display, driven by real key and pointer events: walk.sh PROGRAM
#
# The window in other sizes and closed in mid-run, enlarged text in high contrast and killed in
# mid-run, and opened again. The store must show each run that was closed and verify each time. What
# goes wrong is said with the step and the window's size. A newcomer's whole way is newcomer.sh.
set -eu

if [ "${2:-}" != inside ]; then
    exec sh "$(dirname -- "$0")/display.sh" sh "$0" "$1" inside
fi

program=$1
work=$(mktemp -d)
store=$work/store
size=1280x800
step=begin
pid=
export SDL_AUDIODRIVER=dummy SDL_RENDER_DRIVER=software
# The home may be read-only, of which the graphics library would complain.
export HOME="$work" MESA_SHADER_CACHE_DISABLE=true
# The desktop's own libraries keep memory to the end; the window's is watched by test_ui_monkey.
export ASAN_OPTIONS=detect_leaks=0
trap 'if [ -n "$pid" ]; then kill -9 "$pid" 2>/dev/null || true; fi; rm -rf "$work"' EXIT

fail()
{
    echo "walk.sh: $step, window $size: $*" >&2
    cat "$work"/said >&2 || true
    exit 1
}

# Wait until COMMAND is true, for at most 20 s.
until_true()
{
    for _ in $(seq 100); do
        if "$@" >/dev/null 2>&1; then return 0; fi
        sleep 0.2
    done
    fail "waited for: $*"
}

open()
{
    size=$1
    shift
    "$program" --store "$store" --size "$size" "$@" >"$work/said" 2>&1 &
    pid=$!
    until_true xdotool search --name Threepass
    sleep 1 # the door is shown before the rest is read
    window=$(xdotool search --name Threepass | tail -n 1)
    xdotool mousemove --window "$window" 640 400
    sleep 0.5
}

# Close as a desktop does, by the signal that SDL takes for the last window's end.
close()
{
    kill "$pid"
    status=0
    wait "$pid" || status=$?
    pid=
    [ $status -eq 0 ] || fail "the program ended with $status"
    [ ! -s "$work/said" ] || fail 'the program said something'
}

keys()
{
    for key in "$@"; do
        xdotool key "$key"
        sleep 0.1
    done
    sleep 0.5
}

# click X Y: in pixels of the window.
click()
{
    xdotool mousemove --window "$window" "$1" "$2" click 1
    sleep 0.5
}

verified()
{
    "$program" records verify --store "$store" >"$work/verify" 2>&1 || {
        cat "$work/verify" >&2
        fail 'the store does not verify'
    }
}

runs()
{
    "$program" records show --store "$store" | grep -c ' run ' || true
}

has_runs()
{
    [ "$(runs)" = "$1" ]
}

step='resized'
open 1024x600 --text 100
for size in 1600x1000 1100x1000 1280x800; do
    xdotool windowsize --sync "$window" "${size%x*}" "${size#*x}"
    sleep 0.5
    kill -0 "$pid" || fail 'the program is gone'
done
click 200 286
click 1096 748
click 1096 748
xdotool windowsize --sync "$window" 1400 900
sleep 0.5

step='closed in mid-run'        # it is recorded as broken off
close
has_runs 1 || fail "$(runs) runs are recorded, wanted 1"
verified

step='killed in mid-run'
open 1280x800 --theme contrast --text 200
xdotool type Ife
keys Return Return shift+Tab shift+Tab Return
kill -9 "$pid"
wait "$pid" 2>/dev/null || true
pid=
verified
has_runs 1 || fail "$(runs) runs are recorded, wanted 1"
open 1280x800
close
verified

step='a site of one'"'"'s own'
mkdir "$work/site"
tree=$(CDPATH='' cd -- "$(dirname -- "$0")/../.." && pwd)
cp "$tree/scenarios/ostrel-mill/site.json" "$tree/scenarios/ostrel-mill/first-pass.json" "$work/site"
open 1280x800 --site "$work/site"
close
verified
rm "$work/site/first-pass.json" # the window now says whose folder it has read
status=0
"$program" window --site "$work/site" --store "$store" >"$work/said" 2>&1 || status=$?
[ "$status" -eq 2 ] || fail "a site without a scenario ends with $status"
[ "$(cat "$work/said")" = "$work/site: holds no scenario" ] || fail 'another site was read'
echo "walked: $(runs) runs, store verified"
