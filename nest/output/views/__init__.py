"""Guides in their views: raw cutting, loading card, finish cutting, each from the print side and the base side."""
