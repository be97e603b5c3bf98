"""What to buy: past weeks to many simulated ones, each nested, so that demand is sheets per size; and a job's price."""
