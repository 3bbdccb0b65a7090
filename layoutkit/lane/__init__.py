"""The planned ball on a lane: its motion, its rings and a shot at any moment."""
