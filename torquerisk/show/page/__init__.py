"""The interactive page: inputs, views and what is kept between reruns.

In come a case and what the visitor sets; out come widgets, words and pictures."""
