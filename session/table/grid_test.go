package table

import (
	"encoding/csv"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
)

const ms = time.Millisecond

// smallSheet is a drive in which a second control unit gives engine speed too, speed stops coming,
// and something is marked before, within and after the readings.
func smallSheet() *Sheet {
	s := &Sheet{Marks: []Mark{{At: 230 * ms, Note: "=1+1"}, {At: 120 * ms}, {At: 900 * ms}},
		Spans: []Span{{100 * ms, 205 * ms, "shudder"}, {200 * ms, 300 * ms, "link lost"}}}
	add := func(at time.Duration, ecu string, signal pids.Signal, v float64) {
		s.Samples = append(s.Samples, pids.Sample{At: at, ECU: ecu, Signal: signal, Value: v})
	}
	for i, v := range []float64{40, 41} {
		add(time.Duration(50+100*i)*ms, "7E8", pids.VSS, v)
	}
	for i := range 6 {
		add(time.Duration(100*i)*ms, "7E8", pids.RPM, 800+float64(i)/2)
	}
	add(100*ms, "7E9", pids.RPM, 700)
	add(300*ms, "7E8", pids.RPM, 900) // once more at the same time
	return s
}

func TestWriteWide_AsRead(t *testing.T) {
	var out strings.Builder
	if err := smallSheet().WriteWide(&out, Style{}); err != nil {
		t.Fatal(err)
	}
	const want = `time_s,RPM@7E8 [rpm],RPM@7E9 [rpm],VSS [km/h],mark,event
0.000000,800,,,,
0.050000,,,40,,
0.100000,800.5,700,,,shudder
0.120000,,,,felt,shudder
0.150000,,,41,,shudder
0.200000,801,,,,shudder; link lost
0.230000,,,,'=1+1,link lost
0.300000,801.5,,,,link lost
0.300000,900,,,,link lost
0.400000,802,,,,
0.500000,802.5,,,,
0.900000,,,,felt,
`
	if out.String() != want {
		t.Errorf("got\n%swant\n%s", out.String(), want)
	}
	got, text := taken(t, out.String())
	if got == nil {
		t.Fatal(text)
	}
	if len(got.Samples) != len(smallSheet().Samples) || len(got.Marks) != 3 || got.Marks[1].Note != "=1+1" || got.Marks[0].Note != "" || got.Samples[2].ECU != "7E8" {
		t.Errorf("read back: %d readings, %+v", len(got.Samples), got.Marks)
	}
}

// At a rate a row holds the latest readings, and none that is older than three of the signal's steps:
// speed came each 0.1 s and no more after 0.15 s.
func TestWriteWide_Rate(t *testing.T) {
	s := smallSheet()
	s.Rate = 10
	var out strings.Builder
	if err := s.WriteWide(&out, Style{DecimalComma: true, Mark: true}); err != nil {
		t.Fatal(err)
	}
	const want = "\ufeff" + `time_s;RPM@7E8 [rpm];RPM@7E9 [rpm];VSS [km/h];mark;event
0,000000;800;;;;
0,100000;800,5;700;40;;shudder
0,200000;801;700;41;felt;shudder; link lost
0,300000;900;;41;'=1+1;shudder; link lost
0,400000;802;;41;;
0,500000;802,5;;;felt;
`
	if got := strings.ReplaceAll(out.String(), `"shudder; link lost"`, "shudder; link lost"); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	if got, text := taken(t, out.String()); got == nil || got.Decimals != ',' || got.Samples[0].Value != 800 {
		t.Errorf("read back: %s", text)
	}
}

// Every reading is in the wide form as read, once, at its time.
func TestGrid_LosesNothing(t *testing.T) {
	s := &Sheet{}
	at := time.Duration(0)
	for i := range 2000 {
		at += time.Duration(i*i%7) * ms
		s.Samples = append(s.Samples, pids.Sample{At: at, ECU: []string{"7E8", "7E9"}[i%2], Signal: []pids.Signal{pids.RPM, pids.VSS, "OWN"}[i*i%3], Value: float64(i)})
	}
	seen := map[float64]time.Duration{}
	g := NewGrid(s)
	for r := range g.Rows() {
		for _, v := range r.Values {
			if !math.IsNaN(v) {
				seen[v] = r.At
			}
		}
	}
	for _, sample := range s.Samples {
		if got, ok := seen[sample.Value]; !ok || got != sample.At {
			t.Fatalf("reading %v of %v is at %v (%v)", sample.Value, sample.At, got, ok)
		}
	}
	if len(g.Signals) != 4 || len(seen) != len(s.Samples) {
		t.Errorf("%d columns, %d readings", len(g.Signals), len(seen))
	}
}

func TestWriteWide_Nothing(t *testing.T) {
	for _, rate := range []float64{0, 10} {
		var out strings.Builder
		if err := (&Sheet{Rate: rate}).WriteWide(&out, Style{}); err != nil || out.String() != "time_s,mark,event\n" {
			t.Errorf("%v, %q", err, out.String())
		}
	}
	if err := smallSheet().WriteWide(failing{}, Style{}); err == nil || !strings.Contains(err.Error(), "room") {
		t.Errorf("a full disk: %v", err)
	}
}

// The wide form is CSV as RFC 4180 has it, whatever the names: a general reader takes it.
func TestWriteWide_Names(t *testing.T) {
	var out strings.Builder
	s := &Sheet{Samples: []pids.Sample{{Signal: "a \"b\", c\nd", Value: 1}, {Signal: "=cmd", Value: 2}}}
	if err := s.WriteWide(&out, Style{}); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(out.String())).ReadAll()
	if err != nil || len(rows) != 2 || rows[0][1] != `a "b", c d` || rows[0][2] != "'=cmd" {
		t.Errorf("%v %q", err, rows)
	}
}
