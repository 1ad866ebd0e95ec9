#!/bin/sh
# Counts instructions of single runs with callgrind: unlike times they repeat, whatever else the machine does.
# Usage: tests/bench/instructions.sh   (needs valgrind; builds the bench first)
set -eu
cd "$(dirname "$0")/../.."
if ! command -v valgrind >/dev/null; then
    echo "valgrind is not installed: nothing counted" >&2
    exit 0
fi
bench=$(cargo bench --bench speed --no-run 2>&1 | sed -n 's/.*(\(.*speed-[0-9a-f]*\)).*/\1/p')
counts=$(mktemp -d)
trap 'rm -r "$counts"' EXIT
count() {
    valgrind --tool=callgrind --callgrind-out-file="$counts/out" --toggle-collect="*$2*" "$bench" "$1" >/dev/null 2>"$counts/log" || {
        cat "$counts/log" >&2
        exit 1
    }
    printf '%-24s %14s\n' "$2" "$(sed -n 's/^\(summary\|totals\): //p' "$counts/out" | head -1)"
}
count count-text counted_grammar
count count-text counted_whole
count count-inspection counted_opening
count count-inspection counted_explanations
count count-inspection counted_verdicts
count count-inspection counted_hand
count count-inspection counted_judged
