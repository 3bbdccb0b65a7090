"""The size of a ball whose diameter nobody states."""

USUAL_DIAMETER = 8.55  # inches; within the 8.500 to 8.595 in of the rules
