"""What is no regular file, or too large, is refused at once and never blocks."""

import os
import socket
import threading

import pytest
from rangeledger.pipelines.reader.reading.grid import read_grid
from rangeledger.pipelines.reader.reading.source import MAX_BYTES, read_bytes
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason


def refusal(source: object, **limits: int) -> ExportError:
    with pytest.raises(ExportError) as caught:
        read_bytes(source, **limits)
    return caught.value


def test_a_file_comes_back_byte_for_byte(tmp_path):
    content = bytes(range(256)) * 1000
    (tmp_path / "a.csv").write_bytes(content)
    assert read_bytes(tmp_path / "a.csv") == content
    assert read_bytes(str(tmp_path / "a.csv")) == content


def test_a_link_to_a_file_is_followed(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"a,b\n")
    (tmp_path / "b.csv").symlink_to("a.csv")
    assert read_bytes(tmp_path / "b.csv") == b"a,b\n"


def test_a_folder(tmp_path):
    problem = refusal(tmp_path)
    assert problem.code == FileReason.NOT_A_FILE
    assert "folder" in str(problem)


def test_a_pipe_does_not_block(tmp_path):
    os.mkfifo(tmp_path / "a.csv")
    answers: list[ExportError] = []
    reader = threading.Thread(target=lambda: answers.append(refusal(tmp_path / "a.csv")))
    reader.daemon = True
    reader.start()
    reader.join(timeout=10)
    assert [problem.code for problem in answers] == [FileReason.NOT_A_FILE]


def test_a_socket(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)  # a socket's path has to be short
    with socket.socket(socket.AF_UNIX) as plug:
        plug.bind("a.csv")
        assert refusal("a.csv").code == FileReason.NOT_A_FILE


@pytest.mark.parametrize("device", ["/dev/null", "/dev/zero", "/dev/tty"])
def test_devices(device):
    assert refusal(device).code == FileReason.NOT_A_FILE


def test_links_that_lead_nowhere_or_in_a_circle(tmp_path):
    (tmp_path / "gone.csv").symlink_to("nothing.csv")
    (tmp_path / "circle.csv").symlink_to("circle.csv")
    for name in ("gone.csv", "circle.csv"):
        problem = refusal(tmp_path / name)
        assert problem.code == FileReason.NOT_A_FILE
        assert "link" in str(problem)


@pytest.mark.parametrize("name", ["nothing.csv", "x" * 300 + ".csv", "a\0b.csv"])
def test_names_without_a_file(tmp_path, name):
    assert refusal(tmp_path / name).code == FileReason.NOT_A_FILE


def test_a_huge_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "huge.csv"
    path.touch()
    os.truncate(path, MAX_BYTES + 1)  # without taking the space
    problem = refusal(path)
    assert problem.code == FileReason.TOO_LARGE
    assert "1,073,741,824" in str(problem)


def test_the_limit_holds_for_bytes_and_for_files_of_unknown_size():
    assert refusal(b"12345", max_bytes=4).code == FileReason.TOO_LARGE
    assert read_bytes(b"1234", max_bytes=4) == b"1234"
    assert refusal("/proc/self/status", max_bytes=10).code == FileReason.TOO_LARGE


def test_an_empty_file(tmp_path):
    (tmp_path / "a.csv").touch()
    with pytest.raises(ExportError) as caught:
        read_grid(tmp_path / "a.csv")
    assert caught.value.code == FileReason.EMPTY


@pytest.mark.parametrize("content", [b"\n", b" \r\n\t\r\n", b"\xef\xbb\xbf", b"\xff\xfe", b"\x1a"])
def test_files_without_text(content):
    with pytest.raises(ExportError) as caught:
        read_grid(content)
    assert caught.value.code == FileReason.EMPTY
