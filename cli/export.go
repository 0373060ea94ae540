package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/parquet"
	"github.com/judder-obd/judder/session/table"
	"github.com/judder-obd/judder/tui"
)

type exportCommand struct {
	Files        []string `arg:"" name:"FILE" help:"Recordings, or a folder of them; *.jsonl works too. Several need --out with a folder."`
	CSV          bool     `name:"csv" help:"As CSV, which is the usual form, so the flag may be left out."`
	Parquet      bool     `help:"As Apache Parquet, for query engines; see docs/queries.md."`
	Wide         bool     `help:"One column a signal, with marks and events, instead of one reading a row (time_s,ecu,signal,value,unit)."`
	Rate         string   `placeholder:"R" help:"With --wide: R rows a second, each with the latest readings. Default: as-read, a row at each time of a reading."`
	Out          string   `placeholder:"FILE" help:"Where to write; never overwrites. Of several recordings, the folder for their files. Default: - for standard output."`
	DecimalComma bool     `help:"Decimal comma, and semicolons between the columns."`
	BOM          bool     `name:"bom" help:"Begin with a byte order mark, by which some spreadsheets know the text's encoding."`
}

// mostRate bounds the rows a second: more than any link can bring.
const mostRate = 1000

func (c *exportCommand) Run(e *env) error {
	rate, err := c.check()
	if err != nil {
		return err
	}
	files, many, err := expand(c.Files)
	if err != nil {
		return err
	}
	if many {
		return c.several(e, files, rate)
	}
	sheet, damage, err := sheetOf(files[0].path, rate)
	if err != nil {
		return err
	}
	if damage != "" {
		e.say("%s: %s", files[0].path, damage)
	}
	if c.Out != "" && c.Out != "-" {
		path := c.Out
		if info, err := os.Stat(path); err == nil && info.IsDir() {
			path = filepath.Join(path, c.fileName(files[0].path))
		}
		if err := e.halves.writeNew(path, c.writes(sheet)); err != nil {
			return err
		}
		e.say("%s in %s", prose.Count(len(sheet.Samples), "reading", "readings"), path)
		return nil
	}
	if c.Parquet {
		if tui.TextWidth(e.raw, 0) > 0 {
			return usageError("--parquet is no text: give --out FILE, or send it into a file")
		}
		return c.write(e.raw, sheet)
	}
	return c.write(e.out, sheet)
}

// check refuses flags that make no sense together, and gives the rows a second; 0 for as read.
func (c *exportCommand) check() (rate float64, err error) {
	switch {
	case c.Parquet && (c.CSV || c.DecimalComma || c.BOM):
		return 0, usageError("--parquet is no text: leave --csv, --decimal-comma and --bom out")
	case c.Rate != "" && !c.Wide:
		return 0, usageError("--rate is for --wide: give both")
	case c.Rate == "" || c.Rate == "as-read":
		return 0, nil
	}
	rate, err = strconv.ParseFloat(c.Rate, 64)
	if err != nil || !(rate > 0 && rate <= mostRate) {
		return 0, usageError(fmt.Sprintf("--rate %s: give rows a second, up to %d, such as 10", c.Rate, mostRate))
	}
	return rate, nil
}

// written is what became of one of several recordings.
type written struct {
	file   named
	path   string
	damage string
	err    error
}

// several writes one file for each recording into the folder, on all cores.
func (c *exportCommand) several(e *env, files []named, rate float64) error {
	if info, err := os.Stat(c.Out); err != nil || !info.IsDir() {
		return usageError("several recordings need --out with a folder that is there")
	}
	failed, wrote := 0, 0
	work := func(file named) written {
		w := written{file: file, path: filepath.Join(c.Out, c.fileName(file.path))}
		sheet, damage, err := sheetOf(file.path, rate)
		if w.damage, w.err = damage, err; err == nil {
			w.err = e.halves.writeNew(w.path, c.writes(sheet))
		}
		return w
	}
	err := inOrder(files, work, func(w written) error {
		var other *session.NoDriveError
		switch {
		case w.err != nil && !w.file.byName && errors.As(w.err, &other):
			e.say("%v; passed over", w.err)
		case w.err != nil:
			failed++
			e.say("%v", w.err)
		default:
			wrote++
			if w.damage != "" {
				e.say("%s: %s", w.file.path, w.damage)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	e.say("%d files written to %s", wrote, c.Out)
	if failed > 0 {
		return fmt.Errorf("%d of %d files could not be exported", failed, len(files))
	}
	return nil
}

// fileName is the name of the file that a recording becomes.
func (c *exportCommand) fileName(path string) string {
	ending := ".csv"
	if c.Parquet {
		ending = ".parquet"
	}
	return driveName(path) + ending
}

// driveName is the name of a recording without its folder and ending.
func driveName(path string) string {
	name := filepath.Base(path)
	return strings.TrimSuffix(name, filepath.Ext(name))
}

// writes is write of one table.
func (c *exportCommand) writes(sheet *table.Sheet) func(io.Writer) error {
	return func(w io.Writer) error { return c.write(w, sheet) }
}

func (c *exportCommand) write(w io.Writer, sheet *table.Sheet) error {
	out := bufio.NewWriterSize(w, 64<<10)
	style := table.Style{DecimalComma: c.DecimalComma, Mark: c.BOM}
	var err error
	switch {
	case c.Parquet && c.Wide:
		err = parquet.WriteWide(out, sheet, version())
	case c.Parquet:
		err = parquet.WriteLong(out, sheet, version())
	case c.Wide:
		err = sheet.WriteWide(out, style)
	default:
		err = sheet.WriteLong(out, style)
	}
	if err != nil {
		return err
	}
	return out.Flush()
}

// sheetOf reads a recording as a table, with what was marked and found in it.
func sheetOf(path string, rate float64) (*table.Sheet, string, error) {
	d, err := session.OpenDrive(path)
	if err != nil {
		return nil, "", err
	}
	s := &table.Sheet{Drive: driveName(path), Start: d.Result.Recorded.At, Samples: d.Samples, Unit: d.Unit, Rate: rate, Spans: spansOf(&d.Result)}
	for _, m := range d.Result.Marks {
		s.Marks = append(s.Marks, table.Mark{At: m.At, Note: m.Note})
	}
	return s, d.Result.Damage, nil
}

// spansOf names what was found in a drive and lasted, for the column event.
func spansOf(r *session.Result) []table.Span {
	var spans []table.Span
	for _, ev := range r.Events {
		spans = append(spans, table.Span{Start: ev.Start, End: ev.End, Name: "shudder"})
	}
	for _, w := range r.Slip {
		spans = append(spans, table.Span{Start: w.Start, End: w.End, Name: "slip swing"})
	}
	for _, o := range r.Observations {
		spans = append(spans, table.Span{Start: o.Start, End: o.End, Name: o.Kind.String()})
	}
	for _, s := range r.Stops {
		spans = append(spans, table.Span{Start: s.Start, End: s.End, Name: stopName(s.Kind)})
	}
	for _, l := range r.Losses {
		spans = append(spans, table.Span{Start: l.Start, End: l.End, Name: "link lost"})
	}
	for _, c := range r.Checks {
		spans = append(spans, table.Span{Start: c.Start, End: c.End, Name: "code check"})
	}
	return spans
}

func stopName(k detect.StopKind) string { return "engine stop: " + k.String() }
