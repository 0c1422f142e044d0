"""Papers as PDF. They set what the papers as text set, and draw the course of the day.

Only these modules import reportlab; nothing else of the program does.
"""
