#!/bin/sh
# What the tests need from the system: Chromium for the pages, poppler to look into PDFs, PostgreSQL
# as the other database, and a C compiler for the library that listens to writes and syncs.
set -eu
missing=""
command -v chromium >/dev/null 2>&1 || missing="$missing chromium"
command -v pdftoppm >/dev/null 2>&1 || missing="$missing poppler-utils"
command -v initdb >/dev/null 2>&1 || ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 \
    || missing="$missing postgresql"
command -v cc >/dev/null 2>&1 || missing="$missing gcc libc6-dev"
[ -z "$missing" ] && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    export DEBIAN_FRONTEND=noninteractive
    apt-get update -qq >/dev/null
    case "$missing" in *postgresql*)
        # The tests start a server of their own: none is to be set up and left running here.
        apt-get install -y -qq --no-install-recommends postgresql-common >/dev/null
        echo "create_main_cluster = false" >>/etc/postgresql-common/createcluster.conf
    esac
    # shellcheck disable=SC2086
    apt-get install -y -qq --no-install-recommends $missing >/dev/null
else
    echo "make test needs these from your system's packages:$missing (run it as root on Debian and it installs them)" >&2
    exit 1
fi
