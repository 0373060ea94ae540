package pids

import (
	"math"
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

func TestOxygenSensor(t *testing.T) {
	for _, v := range []struct {
		pid          byte
		four         bool
		bank, sensor int
		ok           bool
	}{
		{0x14, false, 1, 1, true}, {0x17, false, 1, 4, true}, {0x18, false, 2, 1, true},
		{0x16, true, 2, 1, true}, {0x1B, true, 4, 2, true}, {0x24, true, 1, 1, true}, {0x3B, false, 2, 4, true},
		{0x13, false, 0, 0, false}, {0x1C, false, 0, 0, false}, {0x2C, true, 0, 0, false},
	} {
		bank, sensor, ok := OxygenSensor(v.pid, v.four)
		if bank != v.bank || sensor != v.sensor || ok != v.ok {
			t.Errorf("$%02X, four banks %v: bank %d sensor %d %v", v.pid, v.four, bank, sensor, ok)
		}
	}
}
