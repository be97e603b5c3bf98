"""The report page of a plan: what planner, operator and buyer read, as views that the page's template shows."""
