"""The demo workbook: what it promises to show, held through the real import."""
