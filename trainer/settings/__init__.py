"""Validated, documented values. Of the package it imports `domain` alone."""
