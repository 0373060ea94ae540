package parquet

import (
	"bytes"
	"errors"
	"io"
	"math"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/table"
)

// sheet is a small drive with a mark, a note, an event, and values that are none.
func sheet() *table.Sheet {
	return &table.Sheet{
		Drive: "w1", Start: time.Date(2026, 3, 1, 14, 30, 0, 250e3, time.UTC),
		Samples: []pids.Sample{
			{At: 40 * time.Millisecond, ECU: "7E8", Signal: pids.RPM, Value: 0},
			{At: 0, ECU: "7E8", Signal: pids.RPM, Value: 1726.25},
			{At: 40 * time.Millisecond, Signal: "Öl", Value: math.NaN()},
			{At: 50 * time.Millisecond, Signal: "mark", Value: 1e-300},
		},
		Marks: []table.Mark{{At: 50 * time.Millisecond}, {At: time.Second, Note: "uphill"}},
		Spans: []table.Span{{Start: 40 * time.Millisecond, End: 2 * time.Second, Name: "shudder"}},
	}
}

// readBack reads a file with the library's own reader; .ci/run reads one with another engine.
func readBack(t *testing.T, write func(io.Writer, *table.Sheet, string) error, s *table.Sheet) (names []string, rows [][]parquet.Value, f *parquet.File) {
	t.Helper()
	var out bytes.Buffer
	if err := write(&out, s, "1.0"); err != nil {
		t.Fatal(err)
	}
	f, err := parquet.OpenFile(bytes.NewReader(out.Bytes()), int64(out.Len()))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range f.Schema().Columns() {
		names = append(names, c[0])
	}
	r := parquet.NewReader(f)
	buf := make([]parquet.Row, 1)
	for {
		n, err := r.ReadRows(buf)
		if n == 1 {
			rows = append(rows, buf[0].Clone())
		}
		if errors.Is(err, io.EOF) {
			return names, rows, f
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// cells writes a row in short; "-" is no value.
func cells(row []parquet.Value) (list []string) {
	for _, v := range row {
		if v.IsNull() {
			list = append(list, "-")
		} else {
			list = append(list, v.String())
		}
	}
	return list
}

func compare(t *testing.T, names []string, rows [][]parquet.Value, wantNames []string, want [][]string) {
	t.Helper()
	if len(names) != len(wantNames) || len(rows) != len(want) {
		t.Fatalf("columns %q, %d rows; want %q, %d", names, len(rows), wantNames, len(want))
	}
	for i, name := range wantNames {
		if names[i] != name {
			t.Errorf("column %d is %s, want %s", i, names[i], name)
		}
	}
	for i, row := range rows {
		for j, got := range cells(row) {
			if got != want[i][j] {
				t.Errorf("row %d, %s: %s, want %s", i, names[j], got, want[i][j])
			}
		}
	}
}

func TestWriteLong(t *testing.T) {
	names, rows, f := readBack(t, WriteLong, sheet())
	const start = "1772375400000250" // date -u -d '2026-03-01 14:30' +%s, and the microseconds
	compare(t, names, rows, []string{"drive", "start", "time_s", "kind", "ecu", "signal", "value", "unit", "until_s", "text"}, [][]string{
		{"w1", start, "0", "reading", "7E8", "RPM", "1726.25", "rpm", "-", "-"},
		{"w1", start, "0.04", "reading", "7E8", "RPM", "0", "rpm", "-", "-"},
		{"w1", start, "0.04", "reading", "-", "Öl", "-", "-", "-", "-"},
		{"w1", start, "0.05", "reading", "-", "mark", "1e-300", "-", "-", "-"},
		{"w1", start, "0.05", "felt", "-", "-", "-", "-", "-", "-"},
		{"w1", start, "1", "note", "-", "-", "-", "-", "-", "uphill"},
		{"w1", start, "0.04", "event", "-", "-", "-", "-", "2", "shudder"},
	})
	if got := f.Metadata().CreatedBy; got == "" {
		t.Error("the file does not say what wrote it")
	}
}

func TestWriteWide(t *testing.T) {
	s := sheet()
	s.Start = time.Time{}
	names, rows, f := readBack(t, WriteWide, s)
	compare(t, names, rows, []string{"drive", "start", "time_s", "RPM", "Öl", "mark_", "mark", "event"}, [][]string{
		{"w1", "-", "0", "1726.25", "-", "-", "-", "-"},
		{"w1", "-", "0.04", "0", "-", "-", "-", "shudder"},
		{"w1", "-", "0.05", "-", "-", "1e-300", "felt", "shudder"},
		{"w1", "-", "1", "-", "-", "-", "uphill", "shudder"},
	})
	if unit, ok := f.Lookup("unit:RPM"); !ok || unit != "rpm" {
		t.Errorf("the unit of RPM is %q", unit)
	}
}

// More rows than go to the library at once, none lost.
func TestWriteLong_Many(t *testing.T) {
	for _, n := range []int{rowsAtOnce - 1, rowsAtOnce, 3*rowsAtOnce + 1} {
		s := &table.Sheet{Drive: "many"}
		for i := range n {
			s.Samples = append(s.Samples, pids.Sample{At: time.Duration(i) * time.Millisecond, Signal: pids.RPM, Value: float64(i)})
		}
		if _, rows, _ := readBack(t, WriteLong, s); len(rows) != n || rows[n-1][6].Double() != float64(n-1) {
			t.Errorf("%d rows of %d", len(rows), n)
		}
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestWriteError(t *testing.T) {
	if err := WriteLong(failing{}, sheet(), "1.0"); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("error %v", err)
	}
}
