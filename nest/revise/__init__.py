"""After the plan: plan again while some sheets stay, and make damaged pieces again."""
