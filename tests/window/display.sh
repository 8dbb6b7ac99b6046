# A virtual display and the program in a window on it, for the scripts beside this one, which set `binary` before they read
# it. Needs Xvfb, xdotool and xwd (Debian: xvfb xdotool x11-apps).

for tool in Xvfb xdotool xwd; do
    command -v "$tool" >/dev/null || { echo "$0: $tool is missing"; exit 2; }
done

scratch=$(mktemp -d)
program='' server=''
finish() {
    [ -z "$program" ] || kill "$program" 2>/dev/null || true
    [ -z "$server" ] || kill "$server" 2>/dev/null || true
    rm -rf "$scratch"
}
trap finish EXIT

passed=0 failed=0
check() { # NAME COMMAND...
    local name=$1
    shift
    if "$@"; then
        passed=$((passed + 1))
        echo "ok      $name"
    else
        failed=$((failed + 1))
        echo "FAILED  $name"
    fi
}

ticks() { awk '{print $14 + $15}' "/proc/$program/stat"; }
# Until it has answered everything and paints no more, for at most 90 s: a busy machine takes its time.
at_rest() {
    local before
    for _ in $(seq 60); do
        before=$(ticks)
        sleep 1.5
        [ $(($(ticks) - before)) -gt 3 ] || return 0
    done
}
# Whether the window's title comes to match a pattern within 20 s; an asterisk in it marks changes that are not saved.
titled() { # PATTERN
    for _ in $(seq 80); do
        # shellcheck disable=SC2254
        case $(xdotool getwindowname "$window" 2>/dev/null) in $1) return 0 ;; esac
        sleep 0.25
    done
    echo "        (the title is $(xdotool getwindowname "$window"))"
    return 1
}
# Types a text, slowly enough for a busy machine.
type_text() { xdotool type --delay 60 "$1"; sleep 0.5; }
press() { for key in "$@"; do xdotool key "$key"; sleep 0.4; done; }
# Finds the link's rate by the search and types a value into its field, by keyboard alone.
type_rate() { # VALUE
    press ctrl+f
    type_text "link.rate_mbps"
    # Past the button that clears the search and the switch for differences, to the field.
    press Tab Tab Tab
    type_text "$1"
    press Return
}
alive() { kill -0 "$program" 2>/dev/null; }
ends_well() {
    for _ in $(seq 50); do
        kill -0 "$program" 2>/dev/null || { wait "$program"; return; }
        sleep 0.1
    done
    return 1
}
find_window() {
    for _ in $(seq 300); do
        window=$(xdotool search --onlyvisible --pid "$program" 2>/dev/null | tail -1 || true)
        [ -z "$window" ] || return 0
        sleep 0.1
    done
    return 1
}

# A display of its own, whatever numbers are taken: the server says which once it is ready.
# It must not begin anew whenever its last client goes: that would turn the program away while it connects.
start_display() {
    : >"$scratch/display"
    Xvfb -noreset -displayfd 3 -screen 0 ${width}x${height}x24 -nolisten tcp 3>"$scratch/display" >/dev/null 2>&1 &
    server=$!
    for _ in $(seq 100); do
        [ ! -s "$scratch/display" ] || break
        sleep 0.1
    done
    [ -s "$scratch/display" ] || { echo "$0: Xvfb does not start"; exit 2; }
    DISPLAY=:$(<"$scratch/display")
    export DISPLAY
    unset WAYLAND_DISPLAY
}

# Its own home, so that it neither finds nor leaves anything of the user's; arguments are the program's.
start_program() {
    env HOME="$scratch" XDG_CONFIG_HOME="$scratch" XDG_DATA_HOME="$scratch" XDG_STATE_HOME="$scratch" \
        XDG_RUNTIME_DIR="$scratch" LIBGL_ALWAYS_SOFTWARE=1 "$binary" "$@" >"$scratch/log" 2>&1 &
    program=$!
    window=''
}
