"""What is measured at the bench: the axis point, the scale, weighed balls, a shelf of balls."""
