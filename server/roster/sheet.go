package roster

import (
	"bytes"
	"fmt"

	"github.com/xuri/excelize/v2"
)

// Limits of an XLSX file: it is a ZIP, and a small one may unpack to anything.
const (
	mostUnpacked = 64 << 20
	mostPart     = 32 << 20
)

// sheetOf reads the first sheet with rows. A cell with a formula is kept as its
// text behind an equals sign, so that the row is a problem and not what somebody
// else's program once worked out.
func sheetOf(data []byte) ([]cells, error) {
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: mostUnpacked, UnzipXMLSizeLimit: mostPart})
	if err != nil {
		return nil, fmt.Errorf("%w (%w)", ErrNotTable, err)
	}
	defer f.Close()
	for _, sheet := range f.GetSheetList() {
		table, err := rowsOf(f, sheet)
		if err != nil || len(table) > 0 {
			return table, err
		}
	}
	return nil, ErrEmpty
}

func rowsOf(f *excelize.File, sheet string) (table []cells, err error) {
	rows, err := f.Rows(sheet)
	if err != nil {
		return nil, fmt.Errorf("%w (%w)", ErrNotTable, err)
	}
	defer rows.Close()
	for line := 1; rows.Next(); line++ {
		cell, err := rows.Columns()
		if err != nil {
			return nil, fmt.Errorf("%w (%w)", ErrNotTable, err)
		}
		for col := range cell {
			at, err := excelize.CoordinatesToCellName(col+1, line)
			if err != nil {
				return nil, err
			}
			if formula, err := f.GetCellFormula(sheet, at); err == nil && formula != "" {
				cell[col] = "=" + formula
			}
		}
		if !blank(cell) {
			table = append(table, cells{line: line, cell: cell})
		}
		if len(table) > MostRows+1 {
			return nil, ErrTooMany
		}
	}
	return table, rows.Error()
}
