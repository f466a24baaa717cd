"""Hover linked across pictures: where one by engine speed is pointed at, the others tell the same.

The page framework shows each picture alone, and its plot library has no name that a script could
call. But a picture knows the scale of its axis, and tells what a pointer's event points at.
"""

import streamlit as st

SCRIPT = """
(() => {
  if (window.torqueriskHover) return;
  window.torqueriskHover = true;
  const bySpeed = plot => plot._fullLayout?.xaxis?.title.text === 'engine speed [rpm]';
  const pass = event => {
    const from = event.isTrusted && event.target.closest?.('.js-plotly-plot');
    if (!from || !bySpeed(from)) return;
    const own = from._fullLayout.xaxis;
    const speed = own.p2d(event.clientX - from.getBoundingClientRect().left - own._offset);
    for (const plot of document.querySelectorAll('.js-plotly-plot')) {
      if (plot === from || !bySpeed(plot)) continue;
      const {xaxis: x, yaxis: y} = plot._fullLayout, box = plot.getBoundingClientRect();
      plot.querySelector('.nsewdrag')?.dispatchEvent(new MouseEvent(event.type, {
        clientX: box.left + x._offset + x.d2p(speed), bubbles: true,
        clientY: box.top + y._offset + y._length / 2,
      }));
    }
  };
  for (const kind of ['mousemove', 'mouseout']) document.addEventListener(kind, pass);
})();
"""


def link_hover() -> None:
    """Link the pictures of every view, once a visit."""
    st.html(f"<script>{SCRIPT}</script>", unsafe_allow_javascript=True)
