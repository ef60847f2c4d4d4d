"""What is true of goods and money, and what is computed from it.

Nothing here reads a file, a clock, a database or a template: the day is an argument (``on``), chance is an
argument (``seed``).
"""
