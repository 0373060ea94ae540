package pids

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// referencePID is what the library makes of one PID.
type referencePID struct {
	id     byte
	length int
	fields []string
	rows   []referenceRow
}

type referenceRow struct {
	data   []byte
	values []string // of the fields
}

// value of a field in a row; a field that is not there is a mistake in a table.
func (p *referencePID) value(t *testing.T, r referenceRow, field string) float64 {
	t.Helper()
	for i, name := range p.fields {
		if name == field {
			v, err := strconv.ParseFloat(r.values[i], 64)
			if err != nil {
				t.Fatalf("$%02X %s: %v", p.id, field, err)
			}
			return v
		}
	}
	t.Fatalf("$%02X: no field %s", p.id, field)
	return 0
}

func (p *referencePID) has(field string) bool {
	for _, name := range p.fields {
		if name == field {
			return true
		}
	}
	return false
}

// readReference reads testdata/reference/scapy.csv: values that Scapy 2.5.0, a general
// packet library, computed (make.py beside it says how).
func readReference(t *testing.T) []*referencePID {
	t.Helper()
	f, err := os.Open("testdata/reference/scapy.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close() //nolint:errcheck // only read
	r := csv.NewReader(f)
	r.Comment, r.FieldsPerRecord = '#', -1
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []*referencePID
	for _, rec := range records {
		if rec[0] != "pid" {
			p := out[len(out)-1]
			row := referenceRow{data: unhex(t, rec[0]), values: rec[1:]}
			if len(row.values) != len(p.fields) || len(row.data) != p.length {
				t.Fatalf("$%02X: record %q", p.id, rec)
			}
			p.rows = append(p.rows, row)
			continue
		}
		id, err := strconv.ParseUint(rec[1], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		length, err := strconv.Atoi(rec[2])
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, &referencePID{id: byte(id), length: length, fields: rec[3:]})
	}
	return out
}

// referenceFields maps each of the library's fields to a signal.
func referenceFields(p *referencePID) map[string]Signal {
	if s, ok := dataFields[p.id]; ok {
		return map[string]Signal{"data": s}
	}
	if m, ok := recordFields[p.id]; ok {
		return m
	}
	n := Signal(fmt.Sprint((p.id-4)&7 + 1)) // the sensors begin at $14, $24 and $34
	switch {
	case p.has("outputVoltage"):
		return map[string]Signal{"outputVoltage": "O2S_V" + n, "trim": "O2S_FT" + n}
	case p.has("voltage"):
		return map[string]Signal{"equivalence_ratio": "O2S_LV" + n, "voltage": "O2S_WV" + n}
	case p.has("current"):
		return map[string]Signal{"equivalence_ratio": "O2S_LC" + n, "current": "O2S_WC" + n}
	}
	return nil
}

// TestReference_Lengths: how many data bytes a PID has.
func TestReference_Lengths(t *testing.T) {
	for _, p := range readReference(t) {
		row := Lookup(p.id)
		within := p.length >= row.MinLen && p.length <= row.MaxLen
		if _, differs := otherLength[p.id]; differs == within {
			t.Errorf("$%02X: %d bytes, ours %d to %d; said to differ: %v", p.id, p.length, row.MinLen, row.MaxLen, differs)
		}
	}
}

// TestReference_FieldsAreAccounted: every quantity that the library reads is compared or
// left out with a reason, and the tables name none that is not there.
func TestReference_FieldsAreAccounted(t *testing.T) {
	for _, p := range readReference(t) {
		if otherLength[p.id] != "" || Lookup(p.id).IsMap() || p.id == 0x01 || p.id == 0x41 {
			continue
		}
		signals := referenceFields(p)
		for _, field := range p.fields {
			if strings.HasSuffix(field, "_supported") {
				continue
			}
			if (signals[field] != "") == (ourGaps[p.id][field] != "") {
				t.Errorf("$%02X %s: signal %q, gap %q; want one of them", p.id, field, signals[field], ourGaps[p.id][field])
			}
		}
		for field := range signals {
			if !p.has(field) {
				t.Errorf("$%02X: the library has no %s", p.id, field)
			}
		}
		for field := range ourGaps[p.id] {
			if !p.has(field) {
				t.Errorf("$%02X: the library has no %s", p.id, field)
			}
		}
	}
}

// TestReference_Values: value by value, for each reply the same signals with the same
// values, and no others.
func TestReference_Values(t *testing.T) {
	compared := map[Signal]bool{}
	count := 0
	for _, p := range readReference(t) {
		signals := referenceFields(p)
		if otherLength[p.id] != "" || signals == nil {
			continue
		}
		for _, r := range p.rows {
			got, err := Lookup(p.id).Append(nil, r.data)
			if err != nil {
				t.Errorf("$%02X % X: %v", p.id, r.data, err)
				continue
			}
			want := p.wanted(t, r, signals)
			if len(got) != len(want) {
				t.Errorf("$%02X % X: %d values, want %v", p.id, r.data, len(got), want)
			}
			for _, v := range got {
				w, ok := want[v.Field.Signal]
				if !ok || math.Abs(v.Value-w) > tolerance+printed(p, v.Field.Signal)*math.Abs(w) {
					t.Errorf("$%02X % X: %s = %v, want %v (wanted: %v)", p.id, r.data, v.Field.Signal, v.Value, w, ok)
				}
				compared[v.Field.Signal] = true
				count++
			}
		}
	}
	t.Logf("%d values of %d signals of %d", count, len(compared), len(signals))
	if count < 5000 || len(compared) < 180 {
		t.Errorf("only %d values of %d signals were compared", count, len(compared))
	}
}

// wanted is what a reply must give: the library's values without those whose support bit
// is off and those whose codes are not data.
func (p *referencePID) wanted(t *testing.T, r referenceRow, signals map[string]Signal) map[Signal]float64 {
	want := map[Signal]float64{}
	for field, signal := range signals {
		support := supportOf[field]
		if support == "" {
			support = field + "_supported"
		}
		if p.has(support) && p.value(t, r, support) == 0 {
			continue
		}
		v := p.value(t, r, field)
		if field == "current" {
			v += pumpOffset
		}
		if most, limited := notData[signal]; !limited || v <= most {
			want[signal] = v
		}
	}
	return want
}

// printed is the part by which the library's value may be off because its scale is a
// printed figure.
func printed(p *referencePID, s Signal) float64 {
	if s == "LAMBDA" || p.has("equivalence_ratio") && p.id != 0x4F && !strings.HasPrefix(string(s), "O2S_WC") {
		return printedScale
	}
	return 0
}

// TestReference_SupportMaps: the maps of supported PIDs.
func TestReference_SupportMaps(t *testing.T) {
	maps := 0
	for _, p := range readReference(t) {
		if !Lookup(p.id).IsMap() {
			continue
		}
		maps++
		for _, r := range p.rows {
			var m SupportMap
			if err := m.Add(p.id, r.data); err != nil {
				t.Fatal(err)
			}
			var got []string
			for pid := range m.All() {
				got = append(got, fmt.Sprintf("%02X", pid))
			}
			if next, ok := m.Next(p.id); ok { // bit 32: there is a next map
				got = append(got, fmt.Sprintf("%02X", next))
			}
			if strings.Join(got, " ") != r.values[0] {
				t.Errorf("$%02X % X: %v, want %s", p.id, r.data, got, r.values[0])
			}
		}
	}
	if maps != 7 {
		t.Errorf("%d maps compared", maps)
	}
}

// TestReference_MonitorStatus: lamp, number of codes, and the bits of the tests. Left out:
// the library's names of the eight tests that run once a trip, which it has in the opposite
// order (bit 7 the catalyst); SAE J1979 as published begins with the catalyst at bit 0, and
// so does the reply that the ELM327 data sheet explains on p. 34.
func TestReference_MonitorStatus(t *testing.T) {
	for _, p := range readReference(t) {
		if p.id != 0x01 && p.id != 0x41 {
			continue
		}
		for _, r := range p.rows {
			status, err := MonitorStatus(p.id, r.data)
			if err != nil {
				t.Fatal(err)
			}
			var available, undone int
			for i, test := range status.Tests {
				if test.Available {
					available |= 1 << i
				}
				if !test.Complete {
					undone |= 1 << i
				}
			}
			for field, got := range map[string]int{
				"continuous_tests_supported": available & 7, "once_per_trip_tests_supported": available >> 3,
				"continuous_tests_ready": undone & 7, "once_per_trip_tests_ready": undone >> 3, // set: not ready
			} {
				if want := int(p.value(t, r, field)); got != want {
					t.Errorf("$%02X % X: %s %08b, want %08b", p.id, r.data, field, got, want)
				}
			}
			if p.id == 0x01 && (status.Codes != int(p.value(t, r, "dtc_count")) || status.MIL != (p.value(t, r, "mil") == 1)) {
				t.Errorf("% X: %d codes, lamp %v", r.data, status.Codes, status.MIL)
			}
		}
	}
}
