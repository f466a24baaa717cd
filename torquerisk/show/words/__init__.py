"""Numbers and sentences for people, the same on every face.

Here lives one rounding, the state words and the wording of every finding. In come results of the
study; out come sentences and cells."""
