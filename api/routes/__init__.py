"""JSON over HTTP: one router per noun."""
