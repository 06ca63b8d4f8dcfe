package cli

import (
	"context"
	"flag"
	"io"

	"pourwright/internal/calc"
	"pourwright/internal/serve"
	"pourwright/internal/workbook"
)

var starterWorkbook = serve.File{
	Info: calc.Info{Name: "workbook.xlsx", Subject: "Spreadsheets", Summary: "A workbook to start from, whose cells call this server",
		Description: "An order, forty enquiries, ring sizes and a melt; the address of this server stands in one cell. Its figures are invented."},
	MediaType: workbook.MediaType,
	Make:      workbook.Build,
}

// workbookCommand writes the workbook that GET /v1/workbook.xlsx answers.
func workbookCommand(_ context.Context, args []string, _ func(string) string, stdout, stderr io.Writer) error {
	flags := flag.NewFlagSet("workbook", flag.ContinueOnError)
	address := flags.String("server", workbook.Address, "address of the server that its cells call")
	if err := parse(flags, args, stderr); err != nil {
		return err
	}
	b, err := workbook.Build(*address)
	if err != nil {
		return err
	}
	_, err = stdout.Write(b)
	return err
}
