"""The second screen: pages for a phone, a tablet and the customer; the log is read and no more."""
