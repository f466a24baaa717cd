"""The bench sheet of a fastening as a page of its own to print."""

from torquerisk.show.page.html import safe
from torquerisk.show.page.layout import sheet_css
from torquerisk.show.pictures.style import FONT, LIGHT
from torquerisk.show.report.report import sheet_html
from torquerisk.show.words.target_sheet import TargetSheet


def printed_sheet(sheet: TargetSheet) -> bytes:
    """The sheet as one file that prints on one page of A4 or Letter."""
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{safe(sheet.title)}</title><style>@page {{ margin: 12mm; }}"
        f"body {{ font: 10pt/1.3 {FONT}; color: {LIGHT.ink}; background: {LIGHT.paper}; "
        "margin: 1rem; }"
        f"{sheet_css(LIGHT)}@media print {{ html {{ font-size: 8pt; }} "
        "body { margin: 0; font-size: 1rem; line-height: 1.22; } .bench { max-width: none; } }"
        f"</style></head><body>{sheet_html(sheet)}</body></html>"
    ).encode()
