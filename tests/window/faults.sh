#!/usr/bin/env bash
# Faults around a real window: it is killed at random instants, a second one is open beside it, it is closed amid a study,
# the clock jumps, the display vanishes. What the session holds stays readable, and the program ends with a message.
#
# Usage: faults.sh BINARY [KILLS]     needs Xvfb, xdotool and xwd (Debian: xvfb xdotool x11-apps); with libfaketime
#                                     (Debian: faketime) the clock jumps too
# Prints a line a check and `N passed, N failed` at the end; status 1 when a check failed.
set -euo pipefail
binary=$(realpath "$1")
kills=${2:-6}
# shellcheck source=tests/window/display.sh
. "$(dirname "$0")/display.sh"

width=1400 height=860
session=$scratch/framelap/session.ron

opened() {
    find_window || return 1
    xdotool windowsize "$window" $width $height windowmove "$window" 0 0 windowfocus "$window"
    sleep 1
}
killed() { # the window and what waits for it
    kill -9 "$program"
    wait "$program" 2>/dev/null || true
}
none_aside() { ! compgen -G "$scratch/framelap/session-aside-*" >/dev/null; }
# Types a rate and looks whether the session comes to hold it; a busy machine may lose keys, so it is tried again.
kept() { # RATE
    for _ in 1 2 3; do
        xdotool windowfocus "$window"
        # The search is cleared by Escape within it.
        press ctrl+f Escape
        type_rate "$1"
        for _ in $(seq 40); do
            ! grep -q "rate_mbps: $1" "$session" 2>/dev/null || return 0
            sleep 0.25
        done
    done
    return 1
}
# Whether it ends by itself within 20 s.
ends() {
    for _ in $(seq 200); do
        alive || return 0
        sleep 0.1
    done
    return 1
}

start_display
start_program
check "a window opens" opened
at_rest
check "a change comes into the session" kept 611
for number in $(seq "$kills"); do
    # Each key is a change; the session is written when they rest, and the kill comes around that time.
    type_rate $((620 + number))
    sleep "$((RANDOM % 3)).$((RANDOM % 10))"
    killed
    start_program
    opened || true
done
check "after $kills kills it opens again" alive
check "with what was changed" titled '*\* – framelap'
check "and no session had to be set aside" none_aside

first=$program
start_program
check "a second window opens beside it" opened
check "and keeps its session" kept 701
killed
program=$first
killed
check "which is whole" none_aside
start_program
check "and opens again" opened
check "as it was left" titled '*\* – framelap'
killed
rm -rf "$scratch/framelap"

start_program
opened
at_rest
press ctrl+2
sleep 0.3
press ctrl+q
check "closed amid a study it ends, with status 0" ends_well

faketime=$(find /usr/lib -name libfaketime.so.1 2>/dev/null | head -1)
if [ -n "$faketime" ]; then
    echo "@2026-01-01 12:00:00" >"$scratch/clock"
    export LD_PRELOAD=$faketime FAKETIME_TIMESTAMP_FILE=$scratch/clock FAKETIME_NO_CACHE=1 DONT_FAKE_MONOTONIC=1
    start_program
    unset LD_PRELOAD
    check "a window opens under another clock" opened
    at_rest
    echo "@2031-01-01 12:00:00" >"$scratch/clock"
    check "a change comes into the session after the clock jumped ahead" kept 640
    echo "@2001-01-01 12:00:00" >"$scratch/clock"
    check "and after it jumped back" kept 650
    check "the window lives" alive
    killed
else
    echo "skipped the clock's jumps: no libfaketime (Debian: faketime)"
fi

start_program
check "a window opens" opened
at_rest
check "a change comes into the session" kept 777
kill -9 "$server"
wait "$server" 2>/dev/null || true
check "when the display vanishes it ends" ends
status=0
wait "$program" || status=$?
# The system's library for X ends the program itself, with words and a status of its own.
check "with a status that is not 0" [ "$status" != 0 ]
check "and says why" grep -q '^X connection to .* broken' "$scratch/log"
start_display
start_program
check "on another display it opens again" opened
check "with what was changed" titled '*\* – framelap'
check "and no session had to be set aside" none_aside

echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
