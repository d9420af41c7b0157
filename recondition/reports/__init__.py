"""Reports: medium-free tables, the writers that render them, pages, figures and workbooks."""
