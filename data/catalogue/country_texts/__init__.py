"""What a country's law asks shops to tell buyers, as data with days and sources."""
