"""The bucket of a shared store: originals, and the published database."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from rangeledger.schemas.errors import HomeError, StorageError
from rangeledger.warehouse.store_settings import Secrets, StoreSettings

ADDITION = "The shared store needs an addition: pip install 'rangeledger[fleet]'"


class Bucket:
    """One academy's folder of a bucket.

    Parameters
    ----------
    settings : StoreSettings
    secrets : Secrets
    """

    def __init__(self, settings: StoreSettings, secrets: Secrets) -> None:
        try:
            import boto3
            from botocore.config import Config
        except ImportError as error:
            raise HomeError(ADDITION) from error

        self._name, self._folder = settings.bucket, f"{settings.academy}/"
        self._client: Any = boto3.client(
            "s3",
            endpoint_url=settings.endpoint,
            region_name=settings.region,
            aws_access_key_id=secrets.key_id,
            aws_secret_access_key=secrets.secret,
            config=Config(
                s3={"addressing_style": "path"}, retries={"max_attempts": 3},
                # Servers other than the usual one need not know the newer kinds of check sums.
                request_checksum_calculation="when_required",
                response_checksum_validation="when_required",
            ),
        )  # fmt: skip

    def put(self, name: str, content: bytes) -> None:
        """Put an object in place, whole or not at all."""
        with _bucket_errors():
            self._client.put_object(Bucket=self._name, Key=self._folder + name, Body=content)

    def put_file(self, name: str, path: Path) -> None:
        """Put a file's bytes in place, whole or not at all."""
        with _bucket_errors():
            self._client.upload_file(str(path), self._name, self._folder + name)

    def fetch(self, name: str, target: Path) -> None:
        """Copy an object into a file, whole or not at all."""
        target.parent.mkdir(parents=True, exist_ok=True)
        temporary = target.with_name(f".{target.name}.{os.getpid()}.tmp")
        try:
            with _bucket_errors():
                self._client.download_file(self._name, self._folder + name, str(temporary))
            os.replace(temporary, target)
        finally:
            temporary.unlink(missing_ok=True)

    def names(self, beginning: str) -> list[str]:
        """Names of the objects that begin so, sorted."""
        with _bucket_errors():
            pages = self._client.get_paginator("list_objects_v2").paginate(
                Bucket=self._name, Prefix=self._folder + beginning
            )
            found = [one["Key"] for page in pages for one in page.get("Contents", ())]
        return sorted(key.removeprefix(self._folder) for key in found)

    def remove(self, name: str) -> None:
        """Remove an object, if it is there."""
        with _bucket_errors():
            self._client.delete_object(Bucket=self._name, Key=self._folder + name)


@contextmanager
def _bucket_errors() -> Iterator[None]:
    """Turn what the object store refuses into a sentence."""
    from boto3.exceptions import Boto3Error
    from botocore.exceptions import BotoCoreError, ClientError

    try:
        yield
    except (Boto3Error, BotoCoreError, ClientError) as error:
        raise StorageError(
            f"The bucket of the shared store refused: {str(error).strip().splitlines()[0]} "
            "Nothing that was offered is lost; it is taken when the bucket answers."
        ) from error
