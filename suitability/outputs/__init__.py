"""What a run leaves behind: one module a product, each file whole or not there."""
