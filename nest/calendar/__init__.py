"""The calendar: batches of the room, which batch makes each plate, drum loads, the room's line."""
