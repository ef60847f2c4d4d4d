"""Sales, units and rates from files; each bad cell is a Problem."""
