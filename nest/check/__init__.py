"""An independent opinion on a plan; start at `nest.check.opinion.check_plan`."""
