"""Plans beside the plan: each batch on its own, other rhythms of the week, rows that slip."""
