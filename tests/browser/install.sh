#!/bin/sh
# What the page tests need: Chromium and a PDF reader from Debian's packages,
# the accessibility checker and the driver from the npm registry.
set -eu
cd "$(dirname "$0")"
if ! command -v chromium >/dev/null || ! command -v pdftotext >/dev/null || ! command -v npm >/dev/null; then
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
        chromium fonts-dejavu-core poppler-utils
    command -v npm >/dev/null || apt-get install -y -qq --no-install-recommends nodejs npm
fi
npm ci
