#!/usr/bin/env bash
# The real program in a real window on a virtual display: it opens, follows a drag, takes it back, takes a typed value,
# refuses a broken file, swaps, zooms, survives a tiny window, costs nothing when idle, and asks before work is lost.
#
# Usage: real_window.sh BINARY        needs Xvfb, xdotool and xwd (Debian: xvfb xdotool x11-apps)
# Prints a line a check and `N passed, N failed` at the end; status 1 when a check failed. WINDOW_SHOTS=FOLDER keeps the
# screenshots.
set -euo pipefail
binary=$(realpath "$1")
# shellcheck source=tests/window/display.sh
. "$(dirname "$0")/display.sh"

# Where things are in a window of this size [px]: the slider that is dragged, from and to, and a place that shows no hover.
width=1400 height=860
slider_x=(41 141)
slider_y=411
rest=(700 3)

shots=${WINDOW_SHOTS:-$scratch}
mkdir -p "$shots"

# The pixels alone: the header before them holds the title, which changes.
shot() { # NAME
    xdotool mousemove --window "$window" "${rest[@]}"
    sleep 0.3
    xwd -silent -id "$window" | tail -c $((width * height * 4)) >"$shots/$1.bgrx"
}
# Bytes in which two screenshots differ.
difference() { { cmp -l "$shots/$1.bgrx" "$shots/$2.bgrx" || true; } | wc -l; }
# Screenshots until one differs from another in more bytes than a blinking cursor does, for at most 20 s.
shot_that_differs() { # NEW OLD
    for _ in $(seq 40); do
        shot "$1"
        [ "$(difference "$1" "$2")" -le 5000 ] || return 0
        sleep 0.5
    done
    return 1
}
# Whether a screenshot has more different runs of 16 pixels than an empty ground.
has_a_picture() { [ "$(od -An -v -tx4 -w64 "$shots/$1.bgrx" | sort -u | wc -l)" -gt 1000 ]; }
# Whether a screenshot is another one again, but for marks and buttons.
is_again() { echo "        (differs in $(difference "$1" "$2") bytes; the drag changed $(difference "$3" "$2"))"; [ "$(difference "$1" "$2")" -lt $(($(difference "$3" "$2") / 2)) ]; }
idle() {
    local before
    before=$(ticks)
    sleep 4
    [ $(($(ticks) - before)) -le 8 ]
}
start_display
start_program

check "a window opens" find_window
[ -n "$window" ] || { cat "$scratch/log"; echo "$passed passed, $failed failed"; exit 1; }
xdotool windowsize "$window" $width $height windowmove "$window" 0 0 windowfocus "$window"
sleep 1
at_rest

shot first
check "it shows a picture" has_a_picture first

xdotool mousemove --window "$window" "${slider_x[0]}" "$slider_y" mousedown 1
sleep 0.2
for x in $(seq "${slider_x[0]}" 5 "${slider_x[1]}"); do
    xdotool mousemove --window "$window" "$x" "$slider_y"
    sleep 0.03
done
xdotool mouseup 1
check "a dragged slider changes the picture" shot_that_differs dragged first
at_rest
shot dragged

xdotool key ctrl+z
check "ctrl+z changes it again" shot_that_differs undone dragged
at_rest
shot undone
check "and back to what it was" is_again undone first dragged

xdotool key ctrl+e
check "ctrl+e swaps the two scenarios" shot_that_differs swapped undone
at_rest
xdotool key ctrl+e
at_rest

check "nothing is unsaved so far" titled '[!*]*[!*] – framelap'
shot known
type_rate 600
check "a value typed into its field is taken" titled '*\* – framelap'
at_rest
press ctrl+z
check "ctrl+z takes it back" titled '*[!*] – framelap'
# The search is cleared by Escape within it.
press ctrl+f Escape
at_rest
shot cleared
check "and all is as it was" is_again cleared known dragged

printf 'Scenario(\n    slizes: (count: 9),\n)\n' >"$scratch/broken.ron"
press ctrl+l
type_text "$scratch/broken.ron"
press Return
check "a broken file is answered with a message" shot_that_differs refused cleared
check "and what was open stays" titled 'Sliced frames – framelap'
press Escape
at_rest
shot dismissed
check "the message goes, the picture is the same" is_again dismissed cleared dragged

xdotool windowsize "$window" 240 160
sleep 2
check "it lives in a tiny window" alive
xdotool windowsize "$window" $width $height windowmove "$window" 0 0 windowfocus "$window"
sleep 1
at_rest
shot back
check "and is the same when it is large again" is_again back dismissed dragged

shot usual
xdotool key ctrl+equal
check "ctrl+plus makes all larger" shot_that_differs larger usual
xdotool key ctrl+0
at_rest

check "idle, it uses no processor time" idle
check "it is still there" kill -0 "$program"

type_rate 600
check "there is unsaved work" titled '*\* – framelap'
at_rest
shot unsaved
xdotool key ctrl+q
check "ctrl+q asks about it" shot_that_differs asked unsaved
check "and keeps the window open" alive
press Escape
at_rest
shot kept
check "cancelled, all is as it was" is_again kept unsaved asked
press ctrl+q
sleep 2
# From the button that saves, past the one for a path, to the one that does not save.
press Tab Tab space
check "without saving it ends, with status 0" ends_well
program=''

[ "$failed" = 0 ] || cat "$scratch/log" 2>/dev/null || true
echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
