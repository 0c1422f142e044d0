"""What was, as charts, and the same as tables: pages made of plain figures."""
