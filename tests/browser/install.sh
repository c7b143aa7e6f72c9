#!/bin/sh
# What the page tests need: Chromium and a PDF reader from Debian's packages,
# the accessibility checker and the driver from the npm registry.
set -eu
cd "$(dirname "$0")"
as_root=""
[ "$(id -u)" -eq 0 ] || as_root="sudo"
if ! command -v chromium >/dev/null || ! command -v pdftotext >/dev/null || ! command -v npm >/dev/null; then
    $as_root apt-get update -qq
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
        chromium fonts-dejavu-core poppler-utils
    command -v npm >/dev/null || $as_root apt-get install -y -qq --no-install-recommends nodejs npm
fi
npm ci
