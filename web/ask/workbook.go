package ask

import (
	"github.com/gofiber/fiber/v2"
	"github.com/xuri/excelize/v2"
)

// Sheet is one sheet of a workbook: rows of texts, numbers and nothing; the first is the
// head.
type Sheet struct {
	Name string
	Rows [][]any
}

// SendWorkbook answers sheets as a workbook, to be saved under a name. It fails where a
// sheet's name or size is none of a workbook's.
func SendWorkbook(c *fiber.Ctx, name string, sheets []Sheet) error {
	f := excelize.NewFile()
	defer func() { _ = f.Close() }()
	for _, s := range sheets {
		if err := s.addTo(f); err != nil {
			return err
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		return err
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		return err
	}
	c.Set(fiber.HeaderContentType, MediaXLSX)
	c.Set(fiber.HeaderContentDisposition, `attachment; filename="`+name+`"`)
	return c.Send(b.Bytes())
}

func (s *Sheet) addTo(f *excelize.File) error {
	if _, err := f.NewSheet(s.Name); err != nil {
		return err
	}
	for i, row := range s.Rows {
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return err
		}
		if err := f.SetSheetRow(s.Name, cell, &row); err != nil {
			return err
		}
	}
	return f.SetPanes(
		s.Name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"},
	)
}
