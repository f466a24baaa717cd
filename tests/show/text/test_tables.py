"""Text tables: aligned, wrapped, thinned without losing the worst row."""

from hypothesis import given
from hypothesis import strategies as st

from torquerisk.show.text import blocks, tables
from torquerisk.show.words import limit_columns


def test_columns_line_up():
    """common practice, no source: numbers to the right, words to the left, headings over both."""
    shown = blocks.columns(
        ["rpm", "limit\nN·m", "by"], [["900", "7", "a"], ["1,000", "250", "bc"]], left=(2,)
    )
    assert shown.split("\n") == [
        "       limit",
        "  rpm    N·m  by",
        "  900      7  a",
        "1,000    250  bc",
    ]


@given(
    st.lists(st.text("abc ", min_size=1, max_size=90).map(str.strip).filter(bool), min_size=1,
             max_size=6)
)  # fmt: skip
def test_wide_words_wrap_within_the_width(words):
    """identity: every line fits, and no word is lost."""
    rows = [[word, "1,000", "250"] for word in words]
    shown = blocks.columns(["name", "rpm", "N·m"], rows, left=(0,), wrap=0)
    assert max(map(len, shown.split("\n"))) <= blocks.WIDTH
    wanted = "".join("".join(words).split())
    body = "\n".join(shown.split("\n")[1:]).replace("1,000", "").replace("250", "")
    assert "".join(body.split()) == wanted


def test_words_stay_whole_where_closer_columns_make_room():
    """common practice, no source: columns stand closer before a word is cut."""
    heads = ["limit", "over all speeds", "to spare", "5 to 95 %", "at rpm", "fail/1,024"]
    row = [
        "Rod in compression",
        "estimated to hold",
        "17.1234 kN",
        "38.0000 to 38.00",
        "7,000",
        "<1",
    ]
    shown = blocks.columns(heads, [row], left=(0, 1), wrap=0).split("\n")
    assert max(map(len, shown)) <= blocks.WIDTH
    assert [line.split("  ")[0].split(" e")[0].strip() for line in shown[1:]] == [
        "Rod in", "compression",
    ]  # fmt: skip


@given(st.integers(1, 200), st.data())
def test_thinned_rows_keep_ends_and_worst(count, data):
    """identity: first, last and the worst row are always shown; a short table is whole."""
    worst = data.draw(st.integers(0, count - 1))
    shown = blocks.shown_rows(count, [worst], tables.MOST_ROWS)
    assert {0, count - 1, worst} <= set(shown)
    assert len(shown) <= tables.MOST_ROWS + 2
    if count <= tables.MOST_ROWS:
        assert shown == list(range(count))


def test_paragraph_keeps_to_the_width():
    """common practice, no source: 80 columns, hanging indent."""
    told = tables.paragraph("word " * 60, "- ", "  ")
    lines = told.split("\n")
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("- ")
    assert all(line.startswith("  ") for line in lines[1:])


def test_decimals_of_a_torque_step():
    """identity: a step is shown with just the decimals that it needs."""
    assert [limit_columns.decimals_of(s) for s in (1.0, 5.0, 0.5, 0.25, 0.01)] == [0, 0, 1, 2, 2]
