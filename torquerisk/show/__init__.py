"""Tables, figures, words, report and page."""
