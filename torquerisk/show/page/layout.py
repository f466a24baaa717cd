"""How the page looks beside its pictures: type, spacing, the fixed notice, the phone."""

from torquerisk.show.pictures.style import FONT, Look, faded

NOTICE = (
    "Estimates from a model and your inputs, not a promise that an engine holds. The maker's data, "
    "local codes and a qualified builder decide. Stop the run at coolant pressure, knock, loss of "
    "oil or fuel pressure, or a misfire; keep people clear."
)
"""The one notice that stays in view."""

SIDE_BY_SIDE = (13, 7)
"""Widths of a view's picture and of what stands beside it; on a phone it stands below, but for
cards that answer the question: those stand above."""

_PHONE_CSS = """
@media (max-width: 640px) {
  .stMainBlockContainer { padding-left: 0.85rem; padding-right: 0.85rem; padding-bottom: 9rem; }
  .stMainBlockContainer h2.tr-q { position: absolute; clip-path: inset(50%); }
  .st-key-head { position: static; padding-top: 0.2rem; }
  .st-key-case_line { gap: 0.3rem !important; }
  .st-key-case_line .tr-name { display: none; }
  .st-key-views { gap: 0.25rem !important; }
  .st-key-views a { padding: 0 0.35rem; }
  .st-key-views a p, .st-key-views button p, .tr-open { font-size: 0.8rem; }
  .tr-open { padding: 0.25rem 0.35rem; }
  .tr-urgent { font-size: 0.85rem; }
  .tr-short { font-size: 1.06rem; }
  .stColumn:has(.st-key-cards) { order: -1; }
  .tr-term:hover .tr-meant, .tr-term:focus .tr-meant { position: fixed; left: 0.85rem;
    right: 0.85rem; top: auto; bottom: 5.5rem; width: auto; max-width: none; }
  .tr-scroll caption { max-width: calc(100vw - 1.7rem); }
  .tr-scroll .w { min-width: 4rem; }
  .tr-scroll th, .tr-scroll td { padding-right: 0.4rem; font-size: 0.82rem; }
  .tr-notice { font-size: 0.7rem; padding: 0.25rem 0.6rem 0.3rem; }
}
"""
"""A narrow screen."""


def style(look: Look) -> str:
    """The page's own CSS for a theme."""
    parts = (
        _words_css, _header_css, _tables_css, _frame_css, _pictures_css, state_css, sheet_css,
        _terms_css,
    )  # fmt: skip
    return f"<style>{''.join(part(look) for part in parts)}{_PHONE_CSS}</style>"


def _words_css(look: Look) -> str:
    """Type of headings, sentences and lists."""
    return f"""
.stMainBlockContainer {{ max-width: 90rem; padding-top: 0; padding-bottom: 5rem; }}
.stMainBlockContainer [data-testid="stVerticalBlock"] {{ gap: 0.55rem; }}
.stAppHeader {{ height: 0; min-height: 0; }}
.stMainBlockContainer h2.tr-q {{ font-family: "Source Serif",Georgia,serif; font-weight: 600;
  font-size: 1.5rem; line-height: 1.2; margin: 0.2rem 0 0; padding: 0;
  letter-spacing: -0.01em; }}
.tr-name {{ font-family: "Source Serif",Georgia,serif; font-weight: 700;
  font-size: 1.35rem; margin: 0; padding: 0; line-height: 1.3; }}
.tr-lead {{ color: {look.soft}; margin: 0; max-width: 76ch; font-size: 0.95rem; }}
.tr-text {{ margin: 0.15rem 0 0.45rem; max-width: 68ch; }}
.tr-short {{ font-family: "Source Serif",Georgia,serif; font-size: 1.16rem;
  line-height: 1.4; margin: 0; }}
.tr-list {{ margin: 0.2rem 0 0.6rem 1.1rem; padding: 0; max-width: 72ch; }}
.tr-list a {{ color: {look.limit}; }}
.tr-list li {{ margin: 0 0 0.3rem; }}
.tr-read {{ border-left: 4px solid {look.grid}; padding: 0.1rem 0 0.1rem 0.8rem;
  margin: 0.3rem 0; }}
.tr-read p {{ margin: 0.1rem 0; max-width: 76ch; }}
.tr-wait {{ color: {look.soft}; margin: 0.2rem 0; padding-left: 0.8rem;
  border-left: 4px dotted {look.soft}; }}
.tr-said {{ border: 2px solid {look.ink}; padding: 0.7rem 0.9rem; max-width: 68ch; }}
"""


def _tables_css(look: Look) -> str:
    """Tables that scroll on their own."""
    return f"""
.tr-scroll {{ overflow-x: auto; max-width: 100%; }}
.tr-scroll:focus-visible {{ outline: 3px solid {look.limit}; outline-offset: 2px; }}
.tr-scroll table {{ border-collapse: collapse; font-variant-numeric: tabular-nums;
  font-size: 0.92rem; }}
.tr-scroll caption {{ text-align: left; color: {look.soft}; font-size: 0.85rem;
  padding-bottom: 0.25rem; caption-side: top; }}
.tr-scroll th {{ font-weight: 600; vertical-align: bottom; border-bottom: 1.5px solid {look.ink};
  padding: 0.2rem 0.7rem 0.25rem 0; }}
.tr-scroll td {{ padding: 0.16rem 0.7rem 0.16rem 0; border-bottom: 1px solid {look.grid}; }}
.tr-scroll .n {{ text-align: right; }}
.tr-scroll td.n {{ white-space: nowrap; }}
.tr-scroll th {{ line-height: 1.2; }}
.tr-scroll .w {{ text-align: left; min-width: 7rem; }}
.tr-scroll .u {{ color: {look.soft}; font-weight: 400; white-space: nowrap; }}
"""


def _frame_css(look: Look) -> str:
    """Links to sections, marks and keys, the foot and the notice that stays."""
    return f"""
.tr-key {{ display: flex; flex-wrap: wrap; gap: 0.15rem 1.1rem; color: {look.soft};
  font-size: 0.9rem; margin: 0 0 0.2rem; }}
.tr-swatch {{ display: inline-block; width: 1.5em; height: 0.9em; margin-right: 0.4em;
  vertical-align: -0.08em; border: 1px solid {faded(look.ink, 0.35)}; }}
.tr-foot {{ color: {look.soft}; font-size: 0.85rem; border-top: 1px solid {look.grid};
  padding-top: 0.5rem; margin-top: 1.4rem; overflow-wrap: anywhere; }}
.tr-notice {{ position: fixed; left: 0; right: 0; bottom: 0; z-index: 1000000; margin: 0;
  background: {look.paper}; color: {look.ink}; border-top: 2px solid {look.ink};
  font-size: 0.8rem; line-height: 1.3; padding: 0.35rem 1rem 0.4rem; text-align: left; }}
"""


def _pictures_css(look: Look) -> str:
    """Places of pictures, and the sheet of a fastening."""
    return f"""
.tr-fig {{ font-size: 1.02rem; font-weight: 600; margin: 0.9rem 0 0; }}
[data-testid="stSliderTickBar"], [data-testid="stSliderTickBar"] * {{ color: inherit !important;
  opacity: 1 !important; }}
[data-testid="stElementToolbar"] {{ display: none; }}
[data-testid="stExpander"] summary, [data-testid="stExpander"] summary * {{
  color: {look.soft} !important; opacity: 1 !important; }}
.tr-quiet {{ color: {look.soft}; }}
.st-key-kept {{ display: none; }}
.stMainBlockContainer [class*=st-key-place_] {{ gap: 0; position: relative; }}
.tr-still img {{ display: block; }}
[class*=st-key-place_] > * {{ overflow: hidden !important; }}
[class*=st-key-place_]:has(.main-svg) > :has(.tr-still) {{ display: none; }}
[class*=st-key-place_]:has(.tr-still):not(:has(.main-svg)) > :not(:has(.tr-still)) {{
  position: absolute; width: 100%; visibility: hidden; }}
"""


def state_css(look: Look) -> str:
    """Marks of states."""
    return f"""
.tr-state {{ white-space: nowrap; }}
.tr-mark {{ display: inline-block; width: 0.72em; height: 0.72em; margin: 0 0.4em 0 0.1em; }}
.tr-mark.holds {{ background: {look.holds}; border-radius: 50%; }}
.tr-mark.close {{ background: {look.close}; }}
.tr-mark.exceeds {{ background: {look.exceeds}; transform: rotate(45deg) scale(0.86); }}
.tr-mark.unknown {{ border: 2px solid {look.unknown}; border-radius: 50%; box-sizing: border-box; }}
"""


def sheet_css(look: Look) -> str:
    """The sheet of a fastening, on the page and printed."""
    return f"""
.bench {{ border: 1.5px solid {look.ink}; padding: 0.6rem 0.9rem 0.8rem; max-width: 46rem; }}
.bench h3 {{ margin: 0 0 0.2rem; padding: 0; font-size: 1.05rem; }}
.bench h4, .bench figcaption {{ margin: 0.7rem 0 0.1rem; padding: 0; font-size: 0.98rem;
  font-weight: 600; }}
.bench ol, .bench ul {{ margin: 0 0 0 1.2rem; padding: 0; }}
.bench .boxes {{ margin: 0; list-style: none; }}
.bench .boxes li {{ margin: 0; padding-left: 1.4rem; text-indent: -1.4rem; }}
.bench .boxes li::before {{ content: "\\2610"; display: inline-block; width: 1.4rem;
  text-indent: 0; }}
.bench figure, .bench dl, .bench dd {{ margin: 0; padding: 0; }}
.bench .facts > div {{ display: grid; grid-template-columns: 10rem minmax(0, 1fr); gap: 1rem;
  padding: 0.12rem 0; }}
.bench dt {{ color: {look.soft}; }}
.bench p {{ margin: 0.3rem 0 0; }}
.bench .signed {{ margin: 0.9rem 0; overflow-wrap: anywhere; }}
@media (max-width: 640px) {{ .bench .facts > div {{ grid-template-columns: 6.5rem minmax(0, 1fr);
  gap: 0.6rem; }} }}
"""


def _header_css(look: Look) -> str:
    """The header that stays, with the row of views; cards."""
    return f"""
div:has(> .st-key-head), .st-key-head {{ position: sticky; top: 0; z-index: 90; }}
.st-key-head {{ background: {look.paper};
  border-bottom: 2px solid {look.ink}; padding: 0.4rem 0 0.3rem; }}
.tr-urgent {{ margin: 0; padding: 0.3rem 0.7rem; background: {look.exceeds}; color: {look.paper};
  font-weight: 600; line-height: 1.3; }}
.st-key-head a, .st-key-head button {{ min-height: 2.1rem; padding: 0.15rem 0.6rem; }}
.st-key-views a {{ border: 1px solid {faded(look.ink, 0.35)}; }}
.st-key-views a p {{ font-size: 0.95rem; }}
.tr-open {{ display: block; background: {look.ink}; color: {look.paper}; font-weight: 600;
  font-size: 0.95rem; line-height: 1.6; padding: 0.2rem 0.6rem; }}
.st-key-deep_open button {{ background: {look.ink}; color: {look.paper}; }}
.tr-card {{ margin: 0; line-height: 1.3; }}
.tr-card b, .tr-card span, .tr-card small {{ display: block; }}
.tr-card small {{ color: {look.soft}; }}
.tr-card span {{ font-size: 0.92rem; }}
"""


def _terms_css(look: Look) -> str:
    """Cells, terms and their meanings."""
    return f"""
.tr-facts th[scope=row] {{ text-align: left; font-weight: 400;
  border-bottom: 1px solid {look.grid}; }}
.tr-cells td small {{ display: block; color: {look.soft}; font-size: 0.8rem; line-height: 1.15; }}
.tr-cells th[scope=row] {{ text-align: right; vertical-align: baseline; }}
.tr-cells td {{ vertical-align: baseline; }}
.tr-prose td {{ vertical-align: top; min-width: 6.5rem; }}
.tr-prose td:last-child {{ min-width: 15rem; }}
.tr-term {{ font-style: normal; position: relative; cursor: help;
  text-decoration: underline dotted {look.soft}; text-underline-offset: 0.2em; }}
.tr-term:focus-visible {{ outline: 3px solid {look.limit}; outline-offset: 2px; }}
.tr-meant {{ position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); }}
.tr-term:hover .tr-meant, .tr-term:focus .tr-meant {{ left: 0; top: 1.5em; width: max-content;
  max-width: 20rem; height: auto; clip-path: none; z-index: 10; background: {look.paper};
  color: {look.ink}; border: 1.5px solid {look.ink}; padding: 0.3rem 0.55rem;
  font: 400 0.92rem/1.35 {FONT}; }}
.tr-words dt {{ font-weight: 600; margin-top: 0.35rem; }}
.tr-words dd {{ margin: 0; max-width: 62ch; }}
.tr-part b {{ margin-right: 0.35rem; }}
.tr-part {{ margin: 0; font-weight: 600; line-height: 1.25; }}
.tr-part small {{ display: block; font-weight: 400; color: {look.soft}; font-size: 0.84rem;
  min-height: 2.5em; }}
"""


MARK = {
    "not estimated to hold": "exceeds",
    "estimated to hold": "holds",
    "too close to call": "close",
    "more than is accepted": "exceeds",
    "not assessed": "unknown",
}
"""Shape of a state word on the page, as in the pictures."""
STATES = ("estimated to hold", "too close to call", "more than is accepted")
"""State words of what was assessed."""


def state_mark(word: str) -> str:
    """A state word with its shape."""
    return (
        f'<span class="tr-state"><span class="tr-mark {MARK[word]}" aria-hidden="true"></span>'
        f"{word}</span>"
    )
