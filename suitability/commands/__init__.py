"""Commands of their own file; they print through `console` and import when they are called."""
