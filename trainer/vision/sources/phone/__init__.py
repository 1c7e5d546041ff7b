"""A phone's camera over the local network. Nothing here opens a socket before a phone is asked for, and nothing else does."""
