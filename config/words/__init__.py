"""The catalogues of words: collected from the sources, merged into config/locale, compiled, checked. All in Python, so
that a fresh machine needs no gettext programs."""
