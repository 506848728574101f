#!/usr/bin/env bash
# Puts back what backup.sh kept, into a database and a bucket that do not hold the academy.
#   restore.sh FOLDER    with ACADEMY, BUCKET, PostgreSQL's PG* and rclone's RCLONE_S3_* in the environment
# Run it as the server's owner. The academy's role must exist, and its schema must not. Nobody may load meanwhile.
set -euo pipefail
rclone copy "$1/objects" ":s3:$BUCKET/$ACADEMY"
pg_restore --exit-on-error --single-transaction --dbname="$PGDATABASE" "$1/catalog.dump"
