"""A coach's day in a real headless browser: from an empty home to a printed card, a refused file
put right, a session left out, a player shared; on a phone and without a script."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.browser import opened_browser
from tests.made_home import ADA, HOSTILE
from tests.pipelines.pages_server.live import Live, live_pages, wait_until_watched
from tests.services.flow_engine import SharedEngine

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, StorageState, ViewportSize

pytestmark = [pytest.mark.browser, pytest.mark.slow]
PHONE = {"width": 390, "height": 844}
PATIENCE_MS = 180_000

# Ball speeds without a word that says so and carries without a unit: the reader must ask.
REFUSED = """Player,Day,Stick,Zed,Launch,Carry
Ann Lee,2026-05-02,7 Iron,112,17.1,{0}
Ann Lee,2026-05-02,7 Iron,113,16.8,153
Ann Lee,2026-05-02,7 Iron,110,17.5,148
Ann Lee,2026-05-02,8 Iron,106,19.0,140
Ann Lee,2026-05-02,8 Iron,107,18.8,141
"""


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with opened_browser() as browser:
        yield browser


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory, shared_engine: SharedEngine) -> Home:
    """An empty home that the tests of this module fill one after the other."""
    empty = open_home(Home(tmp_path_factory.mktemp("day") / "home"))
    shared_engine.begin(empty)
    return empty


@pytest.fixture(scope="module")
def pages(home: Home) -> Iterator[Live]:
    with live_pages(home.root) as live:
        wait_until_watched(home.root)
        yield live


def login_of(chromium: Browser, live: Live) -> StorageState:
    """What a browser keeps that was let in, so that others need not be."""
    context = chromium.new_context()
    context.new_page().goto(live.entrance, timeout=PATIENCE_MS)
    kept = context.storage_state()
    context.close()
    return kept


@pytest.fixture(scope="module")
def login(chromium: Browser, pages: Live) -> StorageState:
    return login_of(chromium, pages)


@pytest.fixture
def coach(chromium: Browser, pages: Live, login: StorageState) -> Iterator[Page]:
    """A page of the coach's browser on a phone; whatever it asks of other hosts is counted."""
    context = chromium.new_context(viewport=PHONE, storage_state=login)
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.goto(pages.address)
    yield page
    assert [url for url in asked if not url.startswith((pages.address, "data:"))] == []
    assert said == []
    context.close()


def fits(page: Page) -> bool:
    """Whether nothing sticks out of the window sideways."""
    return bool(page.evaluate("document.documentElement.scrollWidth <= innerWidth"))


def carry_of(page: Page, club: str) -> float:
    row = page.locator("#carry_by_club tbody tr").filter(has_text=club).first
    return float(row.locator("td").first.inner_text())


@pytest.mark.prefect
def test_1_a_newcomer_comes_from_an_empty_home_to_a_printed_card(coach: Page, pages: Live) -> None:
    from rangeledger.sample_exports import sample_files

    files = [f for f in sample_files() if f.name.startswith("bag-check") and f.suffix == ".csv"]
    assert "Welcome" in coach.inner_text("h1")
    coach.set_input_files("#files", files)
    coach.click("#drop button")
    coach.wait_for_selector(".file[data-state^=loaded]")
    assert fits(coach)
    coach.locator(".file a.button").first.click()
    coach.wait_for_selector("text=What changed")
    carries, changed = coach.locator("#carry_by_club tbody tr"), coach.locator("text=What changed")
    assert changed.bounding_box()["y"] < PHONE["height"]  # type: ignore[index]
    assert carries.first.bounding_box()["y"] < PHONE["height"]  # type: ignore[index]
    assert fits(coach)
    coach.click("text=Card")
    coach.wait_for_selector(".face.cover")
    sheet = coach.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", sheet)) == 1
    as_pdf = coach.get_attribute("text=As PDF", "href")
    assert coach.request.get(f"{pages.address}{as_pdf}").body().startswith(b"%PDF")


@pytest.mark.prefect
def test_2_a_refused_file_is_put_right_by_picking_and_its_fellow_after_it(
    coach: Page, pages: Live, tmp_path: Path
) -> None:
    files = []
    for name, carry in (("new-a.csv", 151), ("new-b.csv", 149)):
        (tmp_path / name).write_text(REFUSED.format(carry))
        files.append(tmp_path / name)
    coach.goto(f"{pages.address}/inbox")
    coach.set_input_files("#files", files)
    coach.click("#drop button")
    coach.wait_for_selector(".file:nth-of-type(2)[data-state=quarantined]")
    coach.locator("text=Put it right").first.click()
    asked = coach.get_by_role("group", name="Carry", exact=True)
    asked.get_by_label("Unit").select_option("yd")
    coach.click("text=Try")
    assert "it loads: 5 shots" in coach.inner_text(".said")
    assert fits(coach)
    coach.click("text=Save and load")
    coach.wait_for_selector(".file:nth-of-type(2)[data-state^=loaded]")
    assert coach.locator(".file[data-state^=loaded]").count() == 2
    coach.goto(f"{pages.address}/players/ann-lee")
    assert "10" in coach.request.get(f"{pages.address}/players/ann-lee.csv").text()


@pytest.mark.prefect
def test_3_a_session_is_left_out_and_the_carry_changes(coach: Page, pages: Live) -> None:
    address = f"{pages.address}/players/tamsin-orrelle"
    coach.goto(f"{address}/clubs")
    before = coach.inner_text("#carry_by_club")
    coach.goto(f"{address}/sessions")
    coach.locator("summary", has_text="Leave out").first.click()
    coach.locator("text=Leave it out").first.click()
    coach.wait_for_selector("text=Take back")
    coach.goto(f"{address}/clubs")
    assert coach.inner_text("#carry_by_club") != before
    coach.goto(f"{address}/sessions")
    coach.locator("text=Take back").first.click()
    coach.wait_for_url("**/errands/*")
    coach.wait_for_url("**/sessions")
    assert coach.locator("text=Take back").count() == 0
    coach.goto(f"{address}/clubs")
    assert coach.inner_text("#carry_by_club") == before


@pytest.mark.prefect
def test_4_a_link_shows_one_player_and_nobody_else_until_it_is_withdrawn(
    coach: Page, pages: Live, chromium: Browser
) -> None:
    coach.goto(f"{pages.address}/players/tamsin-orrelle/share")
    coach.click("text=Make a link")
    link = coach.inner_text("code.address")
    other = chromium.new_context(viewport=PHONE).new_page()
    other.goto(link)
    assert "Tamsin Orrelle" in other.inner_text("h1")
    assert other.locator("form[method=post]").count() == 0
    assert "Ann Lee" not in other.content()
    for path in ("/players", "/players/ann-lee", "/inbox"):
        other.goto(pages.address + path)
        assert "/enter" in other.url
    secret = link.rpartition("/")[2]
    assert other.goto(f"{pages.address}/s/{secret}/dispersion?beside=Ann+Lee") is not None
    assert "Ann Lee" not in other.content()
    coach.reload()
    coach.goto(f"{pages.address}/players/tamsin-orrelle/share")
    coach.click("text=Withdraw")
    answer = other.goto(link)
    assert answer is not None
    assert answer.status == 404
    assert "Ask your coach" in other.inner_text("main")


@pytest.mark.prefect
def test_5_the_file_of_a_player_stands_alone(
    coach: Page, pages: Live, chromium: Browser, tmp_path: Path
) -> None:
    text = coach.request.get(f"{pages.address}/players/tamsin-orrelle/file").text()
    file = tmp_path / "tamsin.html"
    file.write_text(text)
    assert not re.findall(r'(?:src|href)="(?!#)', text)
    assert "Ann Lee" not in text
    offline = chromium.new_context(viewport=PHONE, offline=True, java_script_enabled=False)
    page = offline.new_page()
    page.goto(file.as_uri())
    assert "What changed" in page.inner_text("main")
    page.click("summary >> text=Wedges")
    assert page.locator("#wedge_grid").is_visible()


@pytest.mark.prefect
def test_6_without_a_script_everything_can_be_done_a_step_at_a_time(
    pages: Live, login: StorageState, chromium: Browser, tmp_path: Path
) -> None:
    context = chromium.new_context(viewport=PHONE, java_script_enabled=False, storage_state=login)
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    (tmp_path / "third.csv").write_text(REFUSED.format(152))
    page.goto(f"{pages.address}/inbox")
    page.set_input_files("#files", tmp_path / "third.csv")
    page.click("#drop button")
    page.wait_for_selector(".file[data-state^=loaded]")  # its layout was settled before
    page.goto(f"{pages.address}/hole?player=Tamsin+Orrelle&wind=10&from=12")
    assert "strokes to hole out" in page.inner_text(".answer")
    assert page.locator("#drawing svg").count() == 1
    page.click("text=Save this hole")
    assert "Saved as" in page.inner_text(".said")
    context.close()


@pytest.mark.prefect
def test_7_two_browsers_read_while_a_third_loads(
    pages: Live, login: StorageState, chromium: Browser, tmp_path: Path
) -> None:
    readers = [chromium.new_context(storage_state=login).new_page() for _ in range(2)]
    loader = chromium.new_context(storage_state=login).new_page()
    loader.set_default_timeout(PATIENCE_MS)
    (tmp_path / "more.csv").write_text(REFUSED.format(150).replace("2026-05-02", "2026-05-09"))
    loader.goto(f"{pages.address}/inbox")
    loader.set_input_files("#files", tmp_path / "more.csv")
    loader.click("#drop button")
    while loader.locator(".file[data-state^=loaded]").count() == 0:
        for page in readers:
            answer = page.goto(f"{pages.address}/players/tamsin-orrelle")
            assert answer is not None
            assert answer.ok
        loader.wait_for_timeout(1000)
    told = readers[0].request.get(f"{pages.address}/players/ann-lee/sessions.json").json()
    assert any("2026-05-09" in row["started_at"] for row in told["tables"]["sessions"])


def _axe(tmp_path: Path) -> Path | None:
    """The checker's own file, fetched for this test alone; None where it can't be had."""
    import subprocess

    npm = shutil.which("npm")
    if npm is None:
        return None
    words = [npm, "pack", "axe-core@4.14.1", "--silent", "--pack-destination", str(tmp_path)]
    if subprocess.run(words, capture_output=True, timeout=120, check=False).returncode:
        return None
    (packed,) = tmp_path.glob("axe-core-*.tgz")
    shutil.unpack_archive(packed, tmp_path / "axe", "gztar")
    return tmp_path / "axe" / "package" / "axe.min.js"


@pytest.fixture(scope="module")
def made_pages(
    made_home: Home, chromium: Browser, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Live, StorageState]]:
    home = Home(shutil.copytree(made_home.root, tmp_path_factory.mktemp("made") / "home"))
    (home.quarantine / "new.csv").write_text(REFUSED.format(151))
    (home.quarantine / "new.csv.reason.txt").write_text("unclear")
    with live_pages(home.root, "--no-watch") as live:
        yield live, login_of(chromium, live)


def test_a_printed_report_is_not_clipped(
    made_pages: tuple[Live, StorageState], chromium: Browser
) -> None:
    """A4 with margins of 13 mm leaves 184 mm, which is 695 px of 1/96 inch (CSS 2.1)."""
    live, login = made_pages
    paper: ViewportSize = {"width": 695, "height": 1000}
    page = chromium.new_context(viewport=paper, storage_state=login).new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.emulate_media(media="print")
    for path in ("/players/ada-brook/report", "/players/ada-brook/clubs"):
        page.goto(live.address + path)
        assert page.locator("table").count()
        assert fits(page), path


# What axe-core runs by light, and in the dark, where only colours differ.
RULES = {
    "light": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"],
    "dark": {"type": "rule", "values": ["color-contrast"]},
}
# Rows after the third of a table are drawn as those before them, but for those of few shots; and
# screens without a template of their own are made of the parts that others show too.
ALIKE = "tbody tr:nth-child(n+4):not(.few)"
OF_SHOWN_PARTS = ("gaps", "putting")
# Only what is broken, without what axe-core works out to describe the rest: a third of its work.
AXE = """async ([alike, rules]) => (await axe.run(
    {exclude: [[alike]]},
    {runOnly: rules, resultTypes: ["violations"], reporter: "no-passes", selectors: false,
     preload: false}
)).violations.map(broken => [broken.id, broken.nodes.slice(0, 3).map(node => node.html)])"""
UNFOLD = "document.querySelectorAll('details').forEach(details => { details.open = true; })"


def test_no_page_breaks_a_rule_of_access(
    made_pages: tuple[Live, StorageState], chromium: Browser, tmp_path: Path
) -> None:
    """Rules: WCAG 2.2 A and AA as axe-core 4.14.1 checks them, in light and dark colours."""
    from rangeledger.pipelines.pages_server.player_pages import SCREENS

    axe = _axe(tmp_path)
    if axe is None:
        pytest.skip("axe-core can't be fetched here")
    live, login = made_pages
    context = chromium.new_context(viewport=PHONE, bypass_csp=True, storage_state=login)
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    player = "/players/ada-brook"
    paths = ["/players", "/inbox", f"/inbox/outcome?file={'a' * 64}", "/welcome", "/enter",
             "/fix/new.csv", "/nothing", f"/hole?player={ADA}", f"{player}/card",
             f"{player}/report", f"{player}/share",
             f"{player}/dispersion?beside={HOSTILE.replace('&', '%26')}"]  # fmt: skip
    paths += [f"{player}/{word}".rstrip("/") for word in SCREENS if word != "dispersion"]
    for path in paths:
        page.goto(live.address + path)
        page.evaluate(UNFOLD)
        assert fits(page), path
        if path.endswith(OF_SHOWN_PARTS):
            continue
        page.add_script_tag(path=axe)
        for scheme, rules in RULES.items():
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            broken = page.evaluate(AXE, [ALIKE, rules])
            assert broken == [], (path, scheme)
    context.close()
