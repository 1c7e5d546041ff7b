"""How far back for how far: unit and green, putts entered, and what follows from them."""
