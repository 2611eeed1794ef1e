"""The die programme: which blanks to commission or to buy, and when, chosen exactly."""
