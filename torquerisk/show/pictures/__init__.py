"""Every picture, in one style, with its numbers and its text alternative.

In come results of the study; out come pictures for the page and still ones for paper."""
