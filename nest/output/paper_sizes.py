"""Papers by name, upright, mm: ISO 216 for the A series, ANSI/ASME Y14.1 size A for Letter."""

PAPERS: dict[str, tuple[float, float]] = {
    "A5": (148.0, 210.0),
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "Letter": (215.9, 279.4),
}
