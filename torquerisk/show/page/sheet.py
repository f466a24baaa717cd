"""The bench sheet of a fastening: on the page, and as a page of its own to print."""

from torquerisk.show.page.html import marked, pretty, safe
from torquerisk.show.page.layout import sheet_css, state_css
from torquerisk.show.pictures.order import order_drawing
from torquerisk.show.pictures.style import FONT, LIGHT
from torquerisk.show.words.target_sheet import TargetSheet


def sheet_block(sheet: TargetSheet) -> str:
    """The sheet as HTML: what to fit, how to tighten it, what to check."""
    rows = "".join(
        f'<tr><th scope="row">{safe(a[0].upper() + a[1:])}</th><td>{marked(b)}</td></tr>'
        for a, b in sheet.facts
    )
    lists = "".join(
        f"<h4>{safe(title)}</h4><{tag}>"
        + "".join(f"<li>{safe(pretty(t))}</li>" for t in texts)
        + f"</{tag}>"
        for title, tag, texts in (
            ("Before, each answered with yes", "ul", sheet.before),
            ("In this order", "ol", sheet.steps),
            ("Afterwards", "ul", sheet.afterwards),
            ("Mind", "ul", sheet.cautions),
        )
        if texts
    )
    return (
        f'<div class="tr-sheet"><h3>{safe(sheet.title)}</h3>'
        f'<div class="tr-scroll" tabindex="0" role="region" aria-label="{safe(sheet.title)}">'
        f"<table><tbody>{rows}</tbody></table></div>{_order(sheet)}{lists}</div>"
    )


def _order(sheet: TargetSheet) -> str:
    """The order of tightening, drawn."""
    if sheet.order is None:
        return ""
    return f"<h4>Order of one head, seen from above</h4>{order_drawing(sheet.order)}"


def printed_sheet(sheet: TargetSheet) -> bytes:
    """The sheet as one file that prints on one page of A4 or Letter."""
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{safe(sheet.title)}</title><style>@page {{ margin: 12mm; }}"
        f"body {{ font: 10pt/1.3 {FONT}; color: {LIGHT.ink}; background: {LIGHT.paper}; "
        "margin: 1rem; }"
        f"{sheet_css(LIGHT)}{state_css(LIGHT)}@media print {{ html {{ font-size: 8pt; }} "
        "body { margin: 0; font-size: 1rem; line-height: 1.22; } .tr-sheet { max-width: none; } }"
        f"</style></head><body>{sheet_block(sheet)}</body></html>"
    ).encode()
