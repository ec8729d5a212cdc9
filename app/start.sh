#!/usr/bin/env bash
# Starts the program on a sample score. Where there is no display it does the main job without a window:
# reads the sample, analyses it and writes what can be made of it into a folder, which it names at the end.
#
#   bash app/start.sh [SCORE]
set -euo pipefail
score=${1:+$(realpath "$1")}
cd "$(dirname "${BASH_SOURCE[0]}")/.."
. app/prepare.sh
prepare app/requirements.txt

score=${score:-$(ls sample_scores/*.musicxml | head -1)}
if [ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ] || [ "$(uname)" != Linux ]; then
  exec .venv/bin/python -m app "$score"
fi
folder=$(mktemp -d -t overstave-XXXXXX)
say "No display here: working on $score without a window."
.venv/bin/python -m app all "$score" --out "$folder"
printf 'Written to %s:\n' "$folder"
(cd "$folder" && ls)
