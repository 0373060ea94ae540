package pids

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// TestTable_Complete: every PID from $00 to $C8 has a row; beyond, Lookup still answers.
func TestTable_Complete(t *testing.T) {
	for id := range 0x100 {
		p := Lookup(byte(id))
		if p.ID != byte(id) || p.Name == "" {
			t.Errorf("$%02X: row %+v", id, p)
		}
		if p.Known() != (id <= 0xC8) {
			t.Errorf("$%02X: known %v", id, p.Known())
		}
		if p.MinLen > p.MaxLen || id <= 0xC8 && p.Source != reserved && p.MinLen == 0 {
			t.Errorf("$%02X: lengths %d to %d", id, p.MinLen, p.MaxLen)
		}
	}
}

// codes are the lowest and highest code of a field as numbers.
func codes(f *Field) (lowest, highest float64) {
	switch {
	case f.Signed:
		return -math.Exp2(float64(f.Bits - 1)), math.Exp2(float64(f.Bits-1)) - 1
	case f.Last != 0:
		return 0, float64(f.Last)
	}
	return 0, math.Exp2(float64(f.Bits)) - 1
}

// TestTable_RangesFollow: the published range of every field follows from its scale,
// offset and width. Ranges and formulae are written down separately, so a slip in either
// shows.
func TestTable_RangesFollow(t *testing.T) {
	fields := 0
	for id := range table {
		for i := range table[id].Fields {
			f := &table[id].Fields[i]
			fields++
			if f.Per <= 0 || f.Scale <= 0 || f.Signal == "" || f.Name == "" {
				t.Errorf("$%02X %s: incomplete row %+v", id, f.Signal, f)
				continue
			}
			low, high := codes(f)
			low, high = low*f.Scale/f.Per+f.Offset, high*f.Scale/f.Per+f.Offset
			if math.Abs(low-f.Min) > tolerance || math.Abs(high-f.Max) > 1e-6 {
				t.Errorf("$%02X %s: formula gives %v to %v, row says %v to %v", id, f.Signal, low, high, f.Min, f.Max)
			}
		}
	}
	if fields < 180 {
		t.Errorf("only %d fields", fields)
	}
}

// TestTable_Layout: fields lie within their record, do not overlap, and a support bit
// belongs to one field only.
func TestTable_Layout(t *testing.T) {
	for id := range table {
		p := &table[id]
		var taken [64]byte
		var support [64]byte
		for i := range p.Fields {
			f := &p.Fields[i]
			mask := byte(0xFF)
			if f.Bits < 8 {
				mask = (1<<f.Bits - 1) << f.Shift
			}
			bytes := (f.Bits + 7) / 8
			if f.Byte+bytes > p.MaxLen {
				t.Errorf("$%02X %s ends at byte %d of %d", id, f.Signal, f.Byte+bytes, p.MaxLen)
				continue
			}
			for b := f.Byte; b < f.Byte+bytes; b++ {
				if taken[b]&mask != 0 {
					t.Errorf("$%02X %s overlaps another field at byte %d", id, f.Signal, b)
				}
				taken[b] |= mask
			}
			if f.SupportBit&support[f.SupportByte] != 0 {
				t.Errorf("$%02X %s shares its support bit", id, f.Signal)
			}
			support[f.SupportByte] |= f.SupportBit
		}
		if p.IsMap() && len(p.Fields) > 0 || id == 0x01 && len(p.Fields) > 0 || id == 0x41 && len(p.Fields) > 0 {
			t.Errorf("$%02X: bit maps are not readings", id)
		}
	}
}

func TestTable_SignalsAreUnique(t *testing.T) {
	where := map[Signal]int{}
	for id := range table {
		for i := range table[id].Fields {
			s := table[id].Fields[i].Signal
			if first, twice := where[s]; twice {
				t.Errorf("%s in $%02X and in $%02X", s, first, id)
			}
			where[s] = id
		}
	}
}

func TestTable_FixedLength(t *testing.T) {
	for id, want := range map[byte]bool{
		0x00: true, 0x0C: true, 0x24: true, 0x63: true, 0xE0: true, 0xA0: true,
		0x06: false, 0x09: false, 0x55: false, 0x58: false, 0x64: false, 0xA4: false, 0xFD: false,
	} {
		if got := Lookup(id).FixedLength(); got != want {
			t.Errorf("$%02X: FixedLength = %v, want %v", id, got, want)
		}
	}
}

func TestAbout(t *testing.T) {
	for _, s := range []Signal{RPM, VSS, TP, TPR, APPD, APPR, LoadPct, LoadAbs, MAP, ECT, VPWR} {
		if name, _, ok := About(s); !ok || name == "" {
			t.Errorf("About(%s) = %q, %v", s, name, ok)
		}
	}
	if name, unit, ok := About(RPM); name != "engine speed" || unit != "rpm" || !ok {
		t.Errorf("About(RPM) = %q, %q, %v", name, unit, ok)
	}
	if _, _, ok := About("SLIP"); ok {
		t.Error("About knows a signal that is not in the table")
	}
}

func TestField_Text(t *testing.T) {
	fuel := &Lookup(0x03).Fields[0]
	if got := fuel.Text(2); got != "closed loop" {
		t.Errorf("Text(2) = %q", got)
	}
	if got := fuel.Text(3); got != "" {
		t.Errorf("Text of a code that does not exist = %q", got)
	}
	if got := Lookup(0x0C).Fields[0].Text(0); got != "" {
		t.Errorf("Text of a quantity = %q", got)
	}
}

// The step of a reading: engine speed in quarters of a revolution a minute, load in 255 parts
// (SAE J1979).
func TestField_Step(t *testing.T) {
	for pid, want := range map[byte]float64{0x0C: 0.25, 0x04: 100. / 255, 0x05: 1, 0x3C: 0.1} {
		if got := Lookup(pid).Fields[0].Step(); math.Abs(got-want) > tolerance {
			t.Errorf("$%02X: %v, want %v", pid, got, want)
		}
	}
}

// A signed field with scale and offset, as a vehicle profile may have one (computed: the code is
// -4, and -4 · 0.5 / 2 + 10 = 9).
func TestField_DecodeSigned(t *testing.T) {
	f := Field{Bits: 16, Signed: true, Scale: 0.5, Per: 2, Offset: 10}
	if got, ok := f.Decode([]byte{0xFF, 0xFC}); !ok || got != 9 {
		t.Errorf("%v, %v; want 9", got, ok)
	}
}

// Every map has four bytes, also $E0, which has no row; so a bundle may hold it.
func TestTable_Maps(t *testing.T) {
	for base := 0; base < 0x100; base += 0x20 {
		p := Lookup(byte(base))
		if _, err := p.Append(nil, []byte{1, 2, 3}); !errors.Is(err, ErrShort) || !p.IsMap() || !p.FixedLength() {
			t.Errorf("$%02X: %+v, three bytes: %v", base, p, err)
		}
	}
}

// The records of exhaust gas temperatures that begin at sensor 5 have another name than those
// that begin at 1: a person must see which is which.
func TestTable_NamesDiffer(t *testing.T) {
	names := map[string]byte{}
	for id := range 0xC9 {
		p := Lookup(byte(id))
		if first, twice := names[p.Name]; twice && p.Source != reserved {
			t.Errorf("$%02X and $%02X are both %q", first, id, p.Name)
		}
		names[p.Name] = byte(id)
	}
}

// $78 has the sensors 1 to 4 of a bank, $98 sensors 5 to 8.
func TestTable_SecondRecord(t *testing.T) {
	for id, want := range map[byte]bool{0x78: false, 0x79: false, 0x98: true, 0x99: true} {
		if p := Lookup(id); strings.Contains(p.Name, "second record") != want || strings.HasSuffix(string(p.Fields[0].Signal), "5") != want {
			t.Errorf("$%02X: %q begins with %s", id, p.Name, p.Fields[0].Signal)
		}
	}
}

func TestBuild_TwoRowsForOnePID(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("two rows for one PID are taken")
		}
	}()
	build([]PID{{ID: 1, Source: published}}, []PID{{ID: 1, Source: published}})
}
