"""Self-contained HTML pages: the shell all of them share, its style and its script."""
