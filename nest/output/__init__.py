"""What leaves the product: the plan file, cutting guides, tables of figures, the terminal summary."""
