"""The types that every floor speaks; it imports none of them."""
