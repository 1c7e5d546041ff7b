"""Pages to read and print, with charts. Beside the record; takes plain values."""
