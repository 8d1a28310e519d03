#!/bin/sh
# What the tests need from the system: Chromium for the pages, poppler to look into PDFs.
set -eu
missing=""
command -v chromium >/dev/null 2>&1 || missing="$missing chromium"
command -v pdftoppm >/dev/null 2>&1 || missing="$missing poppler-utils"
[ -z "$missing" ] && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    export DEBIAN_FRONTEND=noninteractive
    apt-get update -qq >/dev/null
    # shellcheck disable=SC2086
    apt-get install -y -qq --no-install-recommends $missing >/dev/null
else
    echo "make test needs these from your system's packages:$missing (run it as root on Debian and it installs them)" >&2
    exit 1
fi
