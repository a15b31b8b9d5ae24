"""After the boxes are up: what is written down of them."""
