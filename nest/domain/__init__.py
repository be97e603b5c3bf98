"""What is ordered, what the room has, what was decided: frozen records, no behaviour."""
