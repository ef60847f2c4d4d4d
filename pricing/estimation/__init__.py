"""What the price model says of a unit: estimate, explanation, what-if."""
