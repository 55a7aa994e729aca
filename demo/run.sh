#!/bin/sh
# A whole payday on invented data, from nothing: sh demo/run.sh [DIR]
set -eu
cd "$(dirname "$0")/.."
INSTALL="."
. tests/setup.sh
dir=${1:-demo-payday}
if [ -d "$dir" ] && [ -e "$dir/cheque.toml" ] && [ $# = 0 ]; then
    rm -rf "$dir" # what the last demo left; a folder you name yourself is never emptied
fi
exec .venv/bin/cheque demo "$dir"
