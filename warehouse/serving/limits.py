"""What clients of the server may use, and the words in which they are told that it was too much."""

from __future__ import annotations

from dataclasses import dataclass

# A message that connects carries a token and two versions; nothing more is read of who is unknown.
MOST_CONNECT_BYTES = 4096
# The longest statement: ten times what a generated dashboard query takes.
MOST_STATEMENT_BYTES = 2**20
# The head of a request: clients send some 300 bytes, a proxy adds as much again.
MOST_HEAD_BYTES = 8192
# The largest part of a result, some 24,000 rows: the front holds it whole while it hands it on, and
# rows of forty numbers make 8 MiB.
MOST_PART_BYTES = 64 * 2**20
# A client sends its request in one piece; slower ones hold a socket for nothing.
HEAD_S, BODY_S, SEND_S = 10.0, 20.0, 60.0
# Sockets at once. A client opens one a request, so these are far more than the connections.
MOST_SOCKETS = 512
# A wrong token is answered so late, which makes guessing slow and is no harm to who mistyped.
WRONG_TOKEN_S = 1.0


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of the server.

    Attributes
    ----------
    statement_s : float
        Longest that a statement may take [s], by the clock; its one thread can't use more of a
        processor than that.
    crowded_s : float
        Processor time [s] that a statement may use in any case, also while others wait.
    memory_mib : int
        Most memory [MiB] of a statement.
    result_rows, result_mib : int
        Most rows and most MiB of one result.
    statements : int
        Statements at a time, each in a process of its own.
    connections, connections_a_token : int
        Connections in all, and with one token.
    idle_s : float
        How long [s] a connection may rest before it is closed.
    """

    statement_s: float = 30.0
    crowded_s: float = 1.0
    memory_mib: int = 512
    result_rows: int = 10_000_000
    result_mib: int = 1024
    statements: int = 6
    connections: int = 256
    connections_a_token: int = 128
    idle_s: float = 3600.0


def too_long(limits: Limits) -> str:
    """Sentence for a statement that ran for too long."""
    return f"The statement ran for over {limits.statement_s:g} s and was ended"


def crowded(seconds: float) -> str:
    """Sentence for a statement that was ended because others waited."""
    return (
        f"The statement was ended after {seconds:.1f} s because others waited for their turn; "
        "ask again later, or for less"
    )


def too_much_memory(limits: Limits) -> str:
    """Sentence for a statement that took too much memory."""
    return f"The statement took over {limits.memory_mib} MiB of memory and was ended"


def too_large(limits: Limits) -> str:
    """Sentence for a result that is too large."""
    return (
        f"The result is larger than {limits.result_rows} rows or {limits.result_mib} MiB and was "
        "ended; ask for fewer rows or columns"
    )


def too_wide() -> str:
    """Sentence for a result whose rows are too long."""
    return (
        f"A part of the result is larger than {MOST_PART_BYTES // 2**20} MiB, so the statement was "
        "ended; ask for fewer rows, or fewer or shorter columns"
    )
