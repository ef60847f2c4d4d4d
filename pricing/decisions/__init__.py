"""What to do with a unit: repairs, lots, proceeds and tax, the asking price. Decisions know no price model."""
