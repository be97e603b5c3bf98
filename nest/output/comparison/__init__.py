"""Two plans side by side: yields, cost by part, sheets and plates by size, what moved."""
