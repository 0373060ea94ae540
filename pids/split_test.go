package pids

import (
	"bytes"
	"errors"
	"testing"
)

// bundle is the ELM327 data sheet's example of several PIDs in one request (p.45), the
// padding cut off; the second line is the same reply in another order.
var bundle = []string{
	"04 3F 05 44 0B 21 0C 17 B8",
	"0B 21 04 3F 0C 17 B8 05 44",
}

func TestSplit_Bundle(t *testing.T) {
	want := map[Signal]float64{LoadPct: 6300. / 255, ECT: 28, MAP: 33, RPM: 1518}
	for _, text := range bundle {
		parts, err := Split(nil, unhex(t, text), 0x04, 0x05, 0x0B, 0x0C)
		if err != nil || len(parts) != 4 {
			t.Fatalf("%s: %d parts, %v", text, len(parts), err)
		}
		var values []Value
		for _, p := range parts {
			if values, err = p.PID.Append(values, p.Data); err != nil {
				t.Fatal(err)
			}
		}
		for _, v := range values {
			if v.Value != want[v.Field.Signal] {
				t.Errorf("%s: %s = %v, want %v", text, v.Field.Signal, v.Value, want[v.Field.Signal])
			}
		}
		if len(values) != len(want) {
			t.Errorf("%s: %d values, want %d", text, len(values), len(want))
		}
	}
}

func TestSplit_LeftOutIsAllowed(t *testing.T) {
	parts, err := Split(nil, []byte{0x0C, 0x1A, 0xF8}, 0x0C, 0x0D)
	if err != nil || len(parts) != 1 || parts[0].PID.ID != 0x0C {
		t.Errorf("got %d parts, %v", len(parts), err)
	}
}

func TestSplit_AloneTakesTheRest(t *testing.T) {
	for _, v := range []struct {
		reply string
		len   int
	}{
		{"06 7D", 1}, {"06 7D 83", 2}, {"68 03 5A 5B", 3}, {"68 21 5A 00 00 00 00 5B", 7}, {"FD 01 02 03", 3},
	} {
		reply := unhex(t, v.reply)
		parts, err := Split(nil, reply, reply[0])
		if err != nil || len(parts) != 1 || len(parts[0].Data) != v.len {
			t.Errorf("%s: %v, %v; want one part of %d bytes", v.reply, parts, err, v.len)
		}
	}
}

// TestSplit_Violations: each way a reply can be wrong, where, and that dst is untouched
// and the next reply is taken.
func TestSplit_Violations(t *testing.T) {
	for name, v := range map[string]struct {
		reply  string
		asked  []byte
		err    error
		offset int
	}{
		"empty":                {"", []byte{0x0C}, ErrShort, 0},
		"ends in the data":     {"0C 1A", []byte{0x0C}, ErrShort, 2},
		"ends after the PID":   {"0D 64 0C", []byte{0x0C, 0x0D}, ErrShort, 3},
		"not asked":            {"0C 1A F8 05 7B", []byte{0x0C, 0x0D}, ErrNotAsked, 3},
		"nothing asked":        {"0C 1A F8", nil, ErrNotAsked, 0},
		"padding left on":      {"0C 1A F8 00 00 00", []byte{0x0C}, ErrNotAsked, 3},
		"twice":                {"0D 64 0D 63", []byte{0x0C, 0x0D}, ErrTwice, 2},
		"several lengths":      {"0D 64 06 7D", []byte{0x06, 0x0D}, ErrNotAlone, 2},
		"alone, but no data":   {"06", []byte{0x06}, ErrShort, 1},
		"unknown with nothing": {"FD", []byte{0xFD}, ErrShort, 1},
		"record cut":           {"66 01 01", []byte{0x66}, ErrShort, 3},
	} {
		t.Run(name, func(t *testing.T) {
			before := []Part{{PID: Lookup(0x05), Data: []byte{1}}}
			got, err := Split(before, unhex(t, v.reply), v.asked...)
			var reply *ReplyError
			if !errors.Is(err, v.err) || !errors.As(err, &reply) || reply.Offset != v.offset {
				t.Errorf("error %v at %+v; want %v at byte %d", err, reply, v.err, v.offset)
			}
			if len(got) != 1 || got[0].PID != Lookup(0x05) {
				t.Errorf("dst is now %v", got)
			}
			got, err = Split(got, []byte{0x0C, 0x1A, 0xF8}, 0x0C)
			if err != nil || len(got) != 2 {
				t.Errorf("the next reply: %d parts, %v", len(got), err)
			}
		})
	}
}

func TestAppend_Violations(t *testing.T) {
	for _, v := range []struct {
		pid    byte
		data   []byte
		err    error
		offset int
	}{
		{0x0C, nil, ErrShort, 0}, {0x0C, []byte{1}, ErrShort, 1}, {0x0C, []byte{1, 2, 3}, ErrLong, 2},
		{0x06, nil, ErrShort, 0}, {0x06, []byte{1, 2, 3}, ErrLong, 2}, {0xFD, nil, ErrShort, 0},
	} {
		got, err := Lookup(v.pid).Append([]Value{{Value: 7}}, v.data)
		var reply *ReplyError
		if !errors.Is(err, v.err) || !errors.As(err, &reply) || reply.PID != v.pid || reply.Offset != v.offset {
			t.Errorf("$%02X % X: error %v; want %v at %d", v.pid, v.data, err, v.err, v.offset)
		}
		if len(got) != 1 || got[0].Value != 7 {
			t.Errorf("$%02X % X: dst is now %v", v.pid, v.data, got)
		}
	}
	// A record longer than we know is of a later edition: its beginning is taken. $64 is the first.
	if got, err := Lookup(0x64).Append(nil, []byte{125, 126, 127, 128, 129, 0xAA}); err != nil || len(got) != 5 || got[4].Value != 4 {
		t.Errorf("longer record: %v, %v", got, err)
	}
	got, err := Lookup(0x66).Append(nil, []byte{1, 1, 0x90, 0, 0, 0xAA})
	if err != nil || len(got) != 1 || got[0].Value != 12.5 {
		t.Errorf("longer record: %v, %v", got, err)
	}
}

func TestSupportMap_Violations(t *testing.T) {
	var m SupportMap
	if err := m.Add(0x00, []byte{0xBE, 0x1F, 0xA8, 0x13}); err != nil {
		t.Fatal(err)
	}
	before := m
	for _, v := range []struct {
		base byte
		data []byte
		err  error
	}{
		{0x01, []byte{1, 2, 3, 4}, ErrBase}, {0x08, []byte{1, 2, 3, 4}, ErrBase}, {0x20, []byte{1, 2, 3}, ErrShort}, {0x20, []byte{1, 2, 3, 4, 5}, ErrLong},
	} {
		if err := m.Add(v.base, v.data); !errors.Is(err, v.err) || m != before {
			t.Errorf("Add($%02X, % X) = %v; want %v and the map as it was", v.base, v.data, err, v.err)
		}
	}
	if _, err := MonitorStatus(0x01, []byte{1, 2, 3}); !errors.Is(err, ErrShort) {
		t.Errorf("MonitorStatus of 3 bytes = %v", err)
	}
	if _, err := MonitorStatus(0x01, make([]byte, 5)); !errors.Is(err, ErrLong) {
		t.Errorf("MonitorStatus of 5 bytes = %v", err)
	}
}

// TestSupportMap_Inverse writes maps out again from what was read (the standard's rule:
// most significant bit first) and finds the same bytes.
func TestSupportMap_Inverse(t *testing.T) {
	for base := 0; base <= 0xE0; base += 0x20 {
		for _, data := range [][]byte{{0x80, 0, 0, 1}, {0xFF, 0xFF, 0xFF, 0xFF}, {0, 0, 0, 0}, {0x12, 0x34, 0x56, 0x78}} {
			var m SupportMap
			if err := m.Add(byte(base), []byte{0xFF, 0xFF, 0xFF, 0xFF}); err != nil {
				t.Fatal(err)
			}
			if err := m.Add(byte(base), data); err != nil { // a later answer replaces
				t.Fatal(err)
			}
			got := make([]byte, 4)
			for i := range 32 {
				if pid := base + 1 + i; pid <= 0xFF && m.Has(byte(pid)) {
					got[i/8] |= 0x80 >> (i % 8)
				}
			}
			want := bytes.Clone(data)
			if base == 0xE0 {
				want[3] &^= 1 // there is no PID $100
			}
			if !bytes.Equal(got, want) {
				t.Errorf("map $%02X % X comes back as % X", base, data, got)
			}
		}
	}
}

// encode puts a field's code for value into data: the table read in the other direction.
func encode(f *Field, data []byte, value float64) {
	code := int64((value-f.Offset)*f.Per/f.Scale + 0.5)
	if value < f.Offset {
		code = int64((value-f.Offset)*f.Per/f.Scale - 0.5)
	}
	if f.SupportBit != 0 {
		data[f.SupportByte] |= f.SupportBit
	}
	if f.Bits < 8 {
		data[f.Byte] |= byte(code) << f.Shift
		return
	}
	for i := f.Bits/8 - 1; i >= 0; i-- {
		data[f.Byte+i] = byte(code)
		code >>= 8
	}
}

// TestDecode_RoundTrip: for every field, values over its whole range survive being
// written and read within half a step, and its neighbours give nothing of it.
func TestDecode_RoundTrip(t *testing.T) {
	for id := range table {
		p := &table[id]
		for i := range p.Fields {
			f := &p.Fields[i]
			for step := range 101 {
				want := f.Min + (f.Max-f.Min)*float64(step)/100
				data := make([]byte, p.MaxLen)
				encode(f, data, want)
				got, ok := f.Decode(data)
				if !ok || got < want-f.Scale/f.Per*0.501 || got > want+f.Scale/f.Per*0.501 || got < f.Min || got > f.Max {
					t.Fatalf("$%02X %s: %v comes back as %v, %v", id, f.Signal, want, got, ok)
				}
				if f.SupportBit != 0 {
					data[f.SupportByte] &^= f.SupportBit
					if got, ok := f.Decode(data); ok {
						t.Fatalf("$%02X %s: absent sensor reads %v", id, f.Signal, got)
					}
				}
			}
		}
	}
}

func FuzzSplit(f *testing.F) {
	for _, text := range bundle {
		f.Add(unhex(f, text), []byte{0x04, 0x05, 0x0B, 0x0C})
	}
	f.Add([]byte{0x06, 0x7D, 0x83}, []byte{0x06})
	f.Add([]byte{0xA4, 0x03, 0x60, 0x02, 0xB2}, []byte{0xA4})
	f.Fuzz(func(t *testing.T, reply, asked []byte) {
		kept := bytes.Clone(reply)
		parts, err := Split(nil, reply, asked...)
		if err != nil {
			var where *ReplyError
			if !errors.As(err, &where) || where.Offset < 0 || where.Offset > len(reply) || parts != nil {
				t.Fatalf("error %v, %d parts", err, len(parts))
			}
			return
		}
		var joined []byte // the parts put together are the reply
		for _, p := range parts {
			joined = append(append(joined, p.PID.ID), p.Data...)
			values, err := p.PID.Append(nil, p.Data)
			if err != nil && !errors.Is(err, ErrLong) { // only a lone PID can be too long
				t.Fatal(err)
			}
			for _, v := range values {
				if v.Value < v.Field.Min || v.Value > v.Field.Max {
					t.Fatalf("%s = %v is outside %v to %v", v.Field.Signal, v.Value, v.Field.Min, v.Field.Max)
				}
			}
		}
		if !bytes.Equal(joined, reply) || !bytes.Equal(kept, reply) {
			t.Fatalf("% X comes back as % X", kept, joined)
		}
	})
}
