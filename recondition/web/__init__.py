"""The pages: for a phone at the car, a tablet and a screen at the desk, over the same book.

An edge like the command line: what a page enters is a row of the same sheet as in the
workbook, and what it shows are the tables and drawings of the reports.
"""
