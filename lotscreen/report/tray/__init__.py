"""Pages, drawings and workbooks of practice trays."""
