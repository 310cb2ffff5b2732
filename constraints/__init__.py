"""The rules, one a file, in reading order. No rule imports another, and their order never changes a result."""
