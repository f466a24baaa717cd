"""The order of tightening, drawn: black on white for paper, and as rows of text."""

from urllib.parse import quote

from torquerisk.study.answers.results import Order

PITCH, SIDE, RADIUS = 52.0, 34.0, 11.0
"""Bore pitch, distance of a fastener from the bores' middle, and its circle [px]."""


def order_image(order: Order, colour: str) -> str:
    """The drawing as an image in a colour, for a page that lets no SVG in."""
    drawn = order_drawing(order).replace("currentColor", colour)
    drawn = drawn.replace(
        "<svg ", '<svg xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" '
    )
    return f'<img class="order" alt="{in_words(order)}" src="data:image/svg+xml,{quote(drawn)}">'


def order_drawing(order: Order) -> str:
    """The fasteners of one head from above with their numbers, as SVG in the colour of the text."""
    edge = RADIUS + 2
    widest = max(abs(p.across) for p in order.places)
    width, height = PITCH * order.cylinders + 2 * edge + 8, 2 * (SIDE * widest + edge)
    middle = height / 2

    def at(along: float) -> str:
        return f"{edge + 4 + PITCH * along:.0f}"

    bores = "".join(
        f'<circle cx="{at(k + 0.5)}" cy="{middle:.0f}" r="19" fill="none" stroke="currentColor" '
        'stroke-dasharray="3 3"/>'
        for k in range(order.cylinders)
    )
    fasteners = "".join(
        f'<circle cx="{at(p.along)}" cy="{middle + SIDE * p.across:.0f}" r="{RADIUS:.0f}" '
        'fill="none" stroke="currentColor" stroke-width="1.5"/>'
        f'<text x="{at(p.along)}" y="{middle + SIDE * p.across + 4:.0f}" font-size="12" '
        f'text-anchor="middle" fill="currentColor">{p.turn}</text>'
        for p in order.places
    )
    return (
        f'<svg class="order" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" '
        f'height="{height:.0f}" role="img" aria-label="{in_words(order)}">{bores}{fasteners}</svg>'
    )


def in_words(order: Order) -> str:
    """The order for who does not see it."""
    rows = "; ".join(" ".join(row.split()) for row in order_rows(order))
    return f"Order of tightening from above, from one side of the bores to the other: {rows}."


def order_rows(order: Order) -> list[str]:
    """Numbers from one side of the bores to the other, those at one place under each other."""
    along = sorted({p.along for p in order.places})
    across = sorted({p.across for p in order.places})
    turns = {(p.along, p.across): str(p.turn) for p in order.places}
    return [" ".join(f"{turns.get((x, y), ''):>2}" for x in along).rstrip() for y in across]
