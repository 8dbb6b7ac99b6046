#!/usr/bin/env bash
# The report in a browser: it loads without an error, holds the verdict, prints to pages whose text holds its numbers.
# Usage: tests/window/report_in_browser.sh BINARY. Needs chromium and poppler-utils; says so and passes where they are absent.
set -euo pipefail

binary=$(realpath "${1:?usage: $0 BINARY}")
browser=$(command -v chromium || command -v chromium-browser || command -v google-chrome || true)
if [ -z "$browser" ] || ! command -v pdftotext >/dev/null; then
    echo "report in browser: skipped, chromium or pdftotext is not installed"
    exit 0
fi

folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder"

fail() {
    echo "report in browser: $*" >&2
    exit 1
}

browse() {
    timeout 60 "$browser" --headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking \
        --disable-component-update --disable-sync --user-data-dir="$folder/profile" --enable-logging=stderr --v=0 "$@"
}

cat >hostile.ron <<'RON'
Scenario(
    name: "<script>alert(1)</script> & \"quotes\" 'and' \u{202e}\u{5d0}\u{5d1}",
    notes: "</pre></code><img src=x onerror=alert(1)> ]]> --> &amp;",
    slices: (count: 5),
)
RON

check() {
    local name=$1
    shift
    "$binary" report "$name.html" --frames 2000 "$@"
    browse --dump-dom "file://$folder/$name.html" >"$name.dom" 2>"$name.log" || fail "$name: the browser failed"
    if grep -E 'CONSOLE|Uncaught|ERR_|Refused to' "$name.log"; then
        fail "$name: an error in the console"
    fi
    # The first gain in full is in the document; the times of the sentence are in the print.
    local verdict
    verdict=$("$binary" figure verdict verdict.csv --frames 2000 "$@" && sed -n 2p verdict.csv)
    local baseline candidate gain
    IFS=, read -r _ _ _ baseline candidate gain _ < <(echo "$verdict" | sed 's/"[^"]*"/name/')
    for number in "$baseline" "$candidate" "$gain"; do
        [ -n "$number" ] || fail "$name: no gain in $verdict"
        grep -qF "value=\"$number\"" "$name.dom" || fail "$name: the document lacks $number"
    done
    grep -q 'class="headline' "$name.dom" || fail "$name: no headline"
    if grep -qE '<script|<img' "$name.dom"; then
        fail "$name: a name became markup"
    fi
    browse --no-pdf-header-footer --print-to-pdf="$name.pdf" "file://$folder/$name.html" >/dev/null 2>>"$name.log"
    local pages
    pages=$(pdfinfo "$name.pdf" | awk '/^Pages:/ {print $2}')
    [ "$pages" -ge 5 ] && [ "$pages" -le 40 ] || fail "$name: $pages pages"
    pdfinfo "$name.pdf" | grep -q 'A4' || fail "$name: not on A4"
    pdftotext -layout "$name.pdf" "$name.txt"
    for number in "$baseline" "$candidate"; do
        grep -qF "$(LC_ALL=C printf '%.3f' "$number")" "$name.txt" || fail "$name: the print lacks $number"
    done
    grep -q 'ms sooner\|ms later\|Within uncertainty' "$name.txt" || fail "$name: the print lacks the verdict"
    echo "report in browser: $name is well, $pages pages"
}

check default
check preset 4 1
check hostile hostile.ron 1
check dark hostile.ron hostile.ron --set-baseline slices.count=1 --theme dark
