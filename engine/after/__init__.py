"""What the customer is owed: aftercare, hand-over, visits, calendar entries. Pure."""
