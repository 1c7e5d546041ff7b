"""Threads, the loop, prefetch, queues; no clock is read below."""
