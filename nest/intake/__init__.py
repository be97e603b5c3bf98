"""CSV, XLSX and TOML in: the jobs of a week and the room that makes their plates."""

from nest.intake.jobs import read_jobs
from nest.intake.room import RoomFile, read_room
from nest.intake.week import read_week

__all__ = ["RoomFile", "read_jobs", "read_room", "read_week"]
