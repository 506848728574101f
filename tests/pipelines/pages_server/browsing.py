"""A browser at the door of a home's pages, without a network."""

from __future__ import annotations

from rangeledger.pipelines.pages_server.access.guard import Doors
from rangeledger.pipelines.pages_server.app import make_app
from rangeledger.pipelines.pages_server.shared.site import Site
from rangeledger.warehouse.home import Home
from starlette.testclient import TestClient

ADDRESS = "http://127.0.0.1:8642"
OWN = {"origin": ADDRESS}
DOORS = Doors(frozenset({"127.0.0.1", "localhost"}), upload_bytes=1 << 20)


def client_of(home: Home, doors: Doors = DOORS) -> TestClient:
    """A browser at the door of a home's pages."""
    app = make_app(Site(home), doors)
    return TestClient(app, base_url=ADDRESS, client=("127.0.0.1", 50000), follow_redirects=False)


def come_in(client: TestClient) -> TestClient:
    """The same browser, let in."""
    key = client.app.state.site.entry.new_key()  # type: ignore[attr-defined]
    answer = client.get(f"/enter?key={key}")
    assert answer.status_code == 303
    return client
