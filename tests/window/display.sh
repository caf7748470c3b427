#!/bin/sh
# Run a command under a virtual display of its own, which ends with it: display.sh COMMAND...
# SCREEN is its size, WIDTHxHEIGHT.
#
# The server itself finds a number that is free, so that walks at the same time do not meet.
set -eu
number=$(mktemp)
Xvfb -displayfd 3 -screen 0 ${SCREEN:-1600x1200}x24 -nolisten tcp -noreset 3>"$number" >/dev/null 2>&1 &
server=$!
trap 'kill $server 2>/dev/null || true; rm -f "$number"' EXIT
for _ in $(seq 300); do
    [ ! -s "$number" ] || break
    kill -0 $server 2>/dev/null || break
    sleep 0.1
done
if [ ! -s "$number" ]; then
    echo 'display.sh: Xvfb gives no display' >&2
    exit 1
fi
DISPLAY=:$(cat "$number")
export DISPLAY
unset WAYLAND_DISPLAY
"$@"
