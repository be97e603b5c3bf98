"""The timetable of a batch as text, tables, charts for the wall, and a card for each plate."""
