"""Trade geometry: from separations to pieces, and which pieces may share a plate."""
