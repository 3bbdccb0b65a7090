"""The ball as a body: its layers from a label, and what cuts and fills take from them."""
