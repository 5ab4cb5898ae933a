#!/usr/bin/env bash
# Pairs intake and derivation with other engines on an invented fleet, prints the ratios and writes them to
# benches/README.md, which says what is compared.
#
#   benches/pair.sh [INSPECTIONS [ROUNDS [FOLDER]]]
#
# Without FOLDER everything lives in a temporary one and is removed at the end. A FOLDER that is
# given stays, and its Python environment and fleets are used again the next time.
set -euo pipefail

inspections=${1:-1000000}
rounds=${2:-5}
if [ $# -ge 3 ]; then
    mkdir -p "$3"
    work=$(cd "$3" && pwd)
else
    work=$(mktemp -d)
    trap 'rm -rf "$work"' EXIT
fi
cd "$(dirname "$0")/.."

if [ ! -x "$work/venv/bin/python" ]; then
    python3 -m venv "$work/venv"
    "$work/venv/bin/pip" install --quiet duckdb polars pyarrow pandas datafusion
fi
scale=$(cargo bench --bench scale --no-run 2>&1 | sed -n 's/.*Executable.*(\(.*\))$/\1/p')
[ -n "$scale" ] || { echo "the bench does not build: cargo bench --bench scale --no-run" >&2; exit 1; }

fleet="$work/fleet-$inspections"
if [ ! -e "$fleet/truth.json" ]; then
    "$scale" step-synth "$fleet" "$inspections"
fi
"$work/venv/bin/python" benches/pair.py "$scale" "$fleet" "$work" "$rounds"
