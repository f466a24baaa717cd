"""The builder's section says what firing leaves on the ring, for inner and end cylinders."""

import pages
import pytest

from torquerisk.show.words.sealing_ring import BENDING

pytestmark = pytest.mark.slow


def test_the_ring_is_shown_and_follows_the_fastening() -> None:
    """identity: picture, both kinds and the words follow the fastening that is looked at."""
    page = pages.finished(pages.opened(entrance="builder"))
    told = pages.words(page)
    for word in ("inner, governs", BENDING[:60], "The ring of one cylinder"):
        assert word in told
    before = [c for c in pages.charts(page) if "on the ring of an inner cylinder" in c]
    assert len(before) == 1
    fastening = next(b for b in page.selectbox if b.key and b.key.startswith("fastening_"))
    fastening.set_value(len(fastening.options) - 1).run()
    after = [c for c in pages.charts(page) if "on the ring of an inner cylinder" in c]
    assert len(after) == 1
    assert after != before
    assert not page.exception
