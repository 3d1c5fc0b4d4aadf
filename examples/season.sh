#!/usr/bin/env bash
# A season on one machine by GNU parallel: as many shards at a time as there are processors, one
# thread each, then the parts together. Run again it goes on where it was stopped.
#
#   bash examples/season.sh OUT SHARDS PLAN... ARCHIVE...
#
# PAPPUS says which program; PAPPUS_SEASON_OPTIONS more options, e.g. "--age 3 -n 5000".
set -euo pipefail
pappus=${PAPPUS:-pappus}
out=$1 shards=$2
shift 2
# shellcheck disable=SC2086
seq "$shards" | parallel --halt soon,fail=1 --line-buffer \
    "$pappus" season "${@@Q}" --shard "{}/$shards" -o "${out@Q}.parts" --threads 1 --resume --quiet \
    ${PAPPUS_SEASON_OPTIONS:-}
exec "$pappus" season --merge "$out.parts" -o "$out"
