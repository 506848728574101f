"""Imports of heavy packages, for processes that a person waits for."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from threading import RLock, get_ident
from types import ModuleType
from typing import Any

# Imports make a million objects that stay; looking for garbage among them every 700 took a fifth
# of the time (measured). What is garbage goes a little later, and is a few MiB at most.
_OBJECTS = 50_000


def collect_seldom() -> None:
    """Look for garbage after many new objects, not after a few hundred."""
    gc.set_threshold(_OBJECTS, 20, 100)


def keep_imported() -> None:
    """Never look again for garbage among what is there by now; what there is of it stays."""
    gc.freeze()


def put_off(*names: str) -> None:
    """Let modules be imported when something of them is first used, not when others import them.

    Parameters
    ----------
    names : str
        Names in full of modules that packages import for what nobody here asks of them.
    """
    if not any(isinstance(finder, _Later) for finder in sys.meta_path):
        sys.meta_path.insert(0, _Later(frozenset(names)))


@contextmanager
def hidden(*names: str) -> Iterator[None]:
    """For the imports of this thread in this block be as if packages were not installed.

    Parameters
    ----------
    names : str
        Names of packages that others do without where they are missing.
    """
    finder = _Hidden(frozenset(names))
    sys.meta_path.insert(0, finder)
    try:
        yield
    finally:
        sys.meta_path.remove(finder)


class _Hidden(MetaPathFinder):
    """Finds none of some packages for the thread that made it; others find them as usual."""

    def __init__(self, names: frozenset[str]) -> None:
        self._names, self._thread = names, get_ident()

    def find_spec(
        self,
        name: str,
        path: Sequence[str] | None,  # noqa: ARG002
        target: ModuleType | None = None,  # noqa: ARG002
    ) -> ModuleSpec | None:
        """Nothing: others may find the module, unless it is hidden."""
        if name in self._names and get_ident() == self._thread:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return None


class _Later(MetaPathFinder):
    """Finds some modules as others do, and has them executed when they are used."""

    def __init__(self, names: frozenset[str]) -> None:
        self._names = names

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Where a module is found, if it is one of those."""
        if name not in self._names:
            return None
        for finder in sys.meta_path:
            spec = None if finder is self else finder.find_spec(name, path, target)
            if spec is not None and spec.loader is not None:
                spec.loader = _PuttingOff(spec.loader)
                return spec
        return None


class _PuttingOff(Loader):
    """Leaves a module empty until it is used; unlike `importlib.util.LazyLoader`, importing it
    a second time is no use of it yet.
    """

    def __init__(self, loader: Loader) -> None:
        self._loader = loader

    def exec_module(self, module: ModuleType) -> None:
        """Keep for later how the module is executed, and what its own modules are found by."""
        module.__loader__ = self._loader
        if module.__spec__ is not None:
            module.__spec__.loader = self._loader
        module.__dict__[_KEPT] = (self._loader, module.__dict__.pop("__path__", None))
        module.__class__ = _PutOff


_KEPT = "_how_it_is_executed"
_executing = RLock()


class _PutOff(ModuleType):
    """A module that is executed when something is sought in it."""

    def __getattr__(self, name: str) -> Any:
        with _executing:  # whoever comes meanwhile waits for the whole module
            kept = self.__dict__.pop(_KEPT, None)
            if kept is not None:
                self._execute(*kept)
        return ModuleType.__getattribute__(self, name)

    def _execute(self, loader: Loader, path: Any) -> None:
        if path is not None:
            self.__path__ = path
        try:
            loader.exec_module(self)
        except BaseException:
            self.__dict__.pop("__path__", None)
            self.__dict__[_KEPT] = (loader, path)
            raise
        self.__class__ = ModuleType  # type: ignore[assignment]  # as it would have been
