#!/usr/bin/env bash
# Starts the program on a sample score. Where there is no display it does the main job without a window:
# reads the sample, analyses it, and writes the annotated score and stills into a folder, named at the end.
#
#   bash app/start.sh [SCORE]
set -euo pipefail
score=${1:+$(realpath -- "$1")}
cd "$(dirname "${BASH_SOURCE[0]}")/.."
. app/prepare.sh
prepare app/requirements.txt

score=${score:-sample_scores/wednesday-table.musicxml}
if [ "$(uname)" != Linux ] || [ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ]; then
  exec .venv/bin/python -m app "$score"
fi

folder=$(mktemp -d -t overstave-XXXXXX)
name=$(basename -- "${score%.*}")
say "No display here, so no window: working on $score."
export QT_QPA_PLATFORM=offscreen
.venv/bin/python -m app annotate "$score" --out "$folder/$name.musicxml"
.venv/bin/python -m app stills "$score" --out "$folder/stills"
printf 'The annotated score and the stills are in %s\n' "$folder"
