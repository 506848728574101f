#!/usr/bin/env bash
# Keeps one academy: its schema of the catalog, then its folder of the bucket. Loads may go on.
#   backup.sh FOLDER    with ACADEMY, BUCKET, PostgreSQL's PG* and rclone's RCLONE_S3_* in the environment
# In this order, because the catalog names files that are in the bucket already, and a file stays there
# for a day after the catalog needs it no more. FOLDER may hold an earlier backup: only new files travel.
set -euo pipefail
mkdir -p "$1/objects"
pg_dump --format=custom --schema="$ACADEMY" --file="$1/catalog.new"
rclone sync ":s3:$BUCKET/$ACADEMY" "$1/objects"
mv "$1/catalog.new" "$1/catalog.dump"
