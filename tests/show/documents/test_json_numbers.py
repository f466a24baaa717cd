"""Numbers as the JSON documents write them."""

import json
import math

import numpy as np
import pytest

from torquerisk.show.documents.json_numbers import DIGITS, document_text


def test_every_number_is_written_to_so_many_digits_and_nothing_else_changes():
    """Identity: half a unit of the last digit at most; words, whole numbers and order stay."""
    numbers = [math.pi, -math.pi * 1e-9, 2099.9999999999995, 1e300 / 3, 0.1 + 0.2, 0.0]
    document = {
        "numbers": numbers, "tuple": (1 / 3, 7), "array": np.array([1 / 3]),
        "deep": [{"x": {"y": 2 / 3}}], "word": "3.14159265358979",
        "count": 123456789012, "yes": True, "none": None,
    }  # fmt: skip
    back = json.loads(document_text(document))
    assert list(back) == list(document)
    assert back["numbers"] == pytest.approx(numbers, rel=0.5 * 10 ** (1 - DIGITS))
    assert back["numbers"][2] == 2100.0
    assert back["numbers"][4] == 0.3
    shown = [back["tuple"][0], back["array"][0], back["deep"][0]["x"]["y"]]
    assert shown == [0.333333333333, 0.333333333333, 0.666666666667]
    assert (back["word"], back["count"], back["yes"], back["none"]) == (
        "3.14159265358979", 123456789012, True, None,
    )  # fmt: skip


def test_no_number_that_is_none():
    """Source: RFC 8259 section 6: NaN and infinity are not permitted."""
    for wrong in (math.nan, math.inf, np.array([np.nan])):
        with pytest.raises(ValueError):
            document_text({"x": [wrong]})
