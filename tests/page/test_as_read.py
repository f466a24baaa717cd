"""A reading is confirmed before results: columns as read, changed by hand, kept when saved."""

import re
from dataclasses import replace

import pages
import pytest
from playwright.sync_api import Page
from streamlit.testing.v1 import AppTest

from torquerisk.files.parquet import run_parquet
from torquerisk.files.run_file import How, run_from_bytes
from torquerisk.show.page.as_read import ROWS
from torquerisk.show.page.case_in import case_zip, read_case, source_from_zip, source_of_files
from torquerisk.show.page.desk import Desk

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("unproved")]
SPEEDS = range(2000, 6000, 500)
LOG = "rpm,Tq 1 [Nm],Tq 2 [Nm],effort\n" + "".join(
    f"{n},{200 + n / 50},{150 + n / 50},{n / 20}\n" for n in SPEEDS
)
ENGINE = ("engine.toml", (pages.HILL / "engine.toml").read_bytes())
GOOD = ("factory.csv", (pages.HILL / "factory.csv").read_bytes())
RUN = ("run.csv", (pages.HILL / "run.csv").read_bytes())


def sent(*files: tuple[str, bytes]) -> AppTest:
    page = pages.opened("case")
    page.file_uploader(key="files").set_value([(n, d, "text/csv") for n, d in files])
    return page.run()


def typed(page: AppTest, rows: dict[int, dict[str, str]], key: str = "files") -> AppTest:
    """The page after cells of the table were changed."""
    (cells,) = (
        k for k in page.session_state._state.filtered_state if k.startswith(f"as_read_{key}")
    )
    page.session_state[cells] = {"edited_rows": rows, "added_rows": [], "deleted_rows": []}
    return page.run()


def test_what_cannot_be_read_is_said_and_mended_by_hand() -> None:
    """identity: two torques are refused, with the columns open; one is left out, and it opens."""
    page = sent(("log.csv", LOG.encode()))
    (said,) = pages.refusal(page)
    assert "2 columns stand for torque" in said
    assert "open_files" not in [b.key for b in page.button]
    (block,) = (e for e in page.expander if e.label.startswith("As read: 4 columns"))
    assert block.proto.expanded
    cells = page.dataframe[0].value
    assert list(cells["meaning"]) == ["Engine speed", "Torque", "Torque", "not used"]
    assert list(cells[ROWS[0]]) == [2000, 240, 190, 100]
    page = typed(page, {1: {"meaning": "not used"}})
    assert not pages.refusal(page)
    page.button(key="open_files").click().run()
    assert "Tq 2" in pages.words(pages.unfolded(pages.to(page, "inputs"), "read"))


@pytest.mark.parametrize(
    ("rows", "said", "torque"),
    [
        ({1: {"meaning": "not used"}}, {"2": ""}, 190.0),
        ({2: {"unit": "lb*ft"}, 1: {"meaning": "not used"}}, {"2": "", "3": "torque [lb*ft]"},
         190 * 1.3558179483314004),
        ({1: {"meaning": "not used"}, 2: {"meaning": "not used"},
          3: {"meaning": "Torque", "unit": "N*m"}},
         {"2": "", "3": "", "4": "torque [N*m]"}, 100.0),
    ],
)  # fmt: skip
def test_meaning_and_unit_by_hand_are_kept_in_the_saved_case(
    rows: dict[int, dict[str, str]], said: dict[str, str], torque: float
) -> None:
    """identity: what is said on the page reads as --column does, and comes back from the case."""
    page = typed(sent(ENGINE, GOOD, ("run.csv", LOG.encode())), rows)
    assert not pages.refusal(page)
    run = run_from_bytes(LOG.encode(), "run.csv", How(columns=said))
    assert run.torque[0] == pytest.approx(torque)
    files = [ENGINE, GOOD, ("run.csv", LOG.encode())]
    source = source_of_files(files, None)
    source = replace(source, columns=tuple(said.items()))
    case = read_case(source)
    assert case.run.torque.tolist() == run.torque.tolist()
    again = read_case(source_from_zip(case_zip(case.engine, case.run), "case.zip"))
    assert again.run.torque.tolist() == run.torque.tolist()
    page.button(key="open_files").click().run()
    assert page.query_params["case"] == Desk(source=source).name


def test_a_parquet_file_is_read_and_confirmed() -> None:
    """identity: the same run, from Parquet as from CSV."""
    run = read_case(source_of_files([ENGINE, GOOD, RUN], None)).run
    page = sent(("run.parquet", run_parquet(run)))
    assert not pages.refusal(page)
    assert "Run run.parquet on engine" in pages.words(page)
    assert list(page.dataframe[0].value["unit"])[:3] == ["rpm", "N*m", "kPa abs"]


def test_the_pulls_of_a_log_are_offered() -> None:
    """identity: the best is read until another is chosen."""
    rows = [(900.0, 5.0)] * 20
    for torque, top in ((300.0, 5500), (240.0, 4500)):
        rows += [(float(n), torque) for n in range(2000, top, 50)] + [(900.0, 5.0)] * 20
    log = "rpm,torque [Nm]\n" + "".join(f"{n},{t}\n" for n, t in rows)
    page = sent(("log.csv", log.encode()))
    (pulls,) = (s for s in page.selectbox if s.label.startswith("Pull"))
    assert len(pulls.options) == 2
    pulls.set_value(2)
    page.run().button(key="open_files").click().run()
    assert "up to 240 N·m" in pages.words(pages.unfolded(pages.to(page, "inputs"), "read"))


def test_the_run_file_of_an_entered_engine_is_confirmed_too() -> None:
    """identity: the form waits with its reading until that was looked at."""
    page = pages.opened("case")
    boxes = [*page.number_input, *page.selectbox, *page.text_input]
    for name, value in (
        ("ignition", "spark"), ("cylinders", 4), ("bore", 84.0), ("stroke", 86.0),
        ("rod_length", 145.0), ("compression_ratio", 9.5), ("head_joint.fasteners", 10),
        ("head_joint.thread", "M11x1.5"), ("head_joint.property_class", "10.9"),
    ):  # fmt: skip
        next(b for b in boxes if b.key == f"new_{name}_N·m").set_value(value)  # type: ignore[attr-defined]
    page.file_uploader[0].set_value([("log.csv", LOG.encode(), "text/csv")])
    next(b for b in page.button if b.label == "Work it out").click().run()
    (said,) = pages.refusal(page)
    assert "2 columns stand for torque" in said
    page = typed(page, {2: {"meaning": "not used"}}, "entered")
    assert "Run log.csv on engine my engine: read." in pages.words(page)
    page.button(key="open_entered").click().run()
    assert re.fullmatch("[0-9a-f]{16}", str(page.query_params["case"]))


@pytest.mark.browser
@pytest.mark.parametrize("width", [1440, 390])
def test_a_cell_is_changed_in_a_browser(tab: Page, server: str, width: int) -> None:
    """Journey: a log with two torques is refused, one is left out by hand, and it opens."""
    tab.set_viewport_size({"width": width, "height": 900})
    tab.goto(f"{server}/case")
    tab.get_by_text("Files, in any order").wait_for()
    tab.locator("input[type=file]").last.set_input_files(
        [{"name": "log.csv", "mimeType": "text/csv", "buffer": LOG.encode()}]
    )
    tab.get_by_text("2 columns stand for torque").wait_for()
    cells = tab.locator(".dvn-scroller").first
    cells.scroll_into_view_if_needed()
    cells.dblclick(position={"x": 110, "y": 35 + 35 + 17})
    tab.wait_for_timeout(500)
    tab.keyboard.type("not used")
    tab.keyboard.press("Enter")
    tab.get_by_text("Run log.csv on engine").wait_for()
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    tab.get_by_role("button", name="Work it out").last.click()
    tab.locator(".tr-short").last.wait_for()
