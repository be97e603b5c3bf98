"""The engine: bins, items and patterns; it meets the plate room only in translate and assemble."""
