"""Text to drafts: a filled workbook, a folder of .csv or one row typed as a command."""
