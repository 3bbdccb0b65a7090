"""What the window knows and does, without a display."""
