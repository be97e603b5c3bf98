"""Labels for pieces and plates on pages of a chosen grid, at real size."""
