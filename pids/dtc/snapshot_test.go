package dtc

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/judder-obd/judder/pids"
)

// Replies of python-udsoncan's own tests (with 4711, 6789), by articles on services 19 04 and
// 19 06, and computed ones with identifiers of SAE J1979-2.
func TestParseSnapshots(t *testing.T) {
	for _, c := range []struct {
		reply, want string
		err         error
	}{
		{"59 04 12 34 56 24 02 01 47 11 A6 66 07 50 20", "P1234-56 24: 2 [4711=A666075020]", nil},
		{"59 04 12 34 56 24", "P1234-56 24:", nil},
		{"59 04 04 20 00 2F 00 02 F4 0C 1A F8 F4 0D 50", "P0420-00 2F: 0 [0C=1AF8 0D=50]", nil},
		{"59 04 04 20 00 2F 00 01 F4 0C 1A F8 F0 01 F4 0D 50", "P0420-00 2F: 0 [0C=1AF8] 240 [0D=50]", nil},
		{"59 04 04 20 00 2F 00 03 F4 06 7D F4 07 85 80 F4 0C 1A F8", "P0420-00 2F: 0 [06=7D 07=8580 0C=1AF8]", nil},
		{"59 04 04 20 00 FF 01 02 99 99 11 22 33", "P0420-00 FF: 1 []", ErrUnknownLength},
		{"59 04 12 34 56 24 02 02 47 11 A6 66 07 50 20 67 89 99 88 77 03 01 44 55 43 21", "P1234-56 24: 2 []", ErrUnknownLength},
		{"59 04 12 34 56 24 02 00", "P1234-56 24:", pids.ErrRecord},
		{"59 04 12 34 56 24 02", "P1234-56 24:", pids.ErrShort},
		{"59 04 04 20 00 2F 00 01 F4 07 85 80", "P0420-00 2F: 0 [07=8580]", nil},      // with a second bank
		{"59 04 04 20 00 2F 00 02 F4 06 7D", "P0420-00 2F: 0 [06=7D]", pids.ErrShort}, // the second identifier was cut off
		{"59 04", "P0000 00:", pids.ErrShort},
		{"59 04 04 20 00 2F 00 02 F4 0C 1A", "P0420-00 2F: 0 []", pids.ErrShort},
		{"59 04 12", "P0000 00:", pids.ErrShort},
		{"59 06 12 34 56 24", "P0000 00:", pids.ErrOther},
	} {
		code, records, err := ParseSnapshots(unhex(t, c.reply))
		got := fmt.Sprintf("%s %02X:", code, code.Bits)
		for _, r := range records {
			var parts []string
			for _, p := range r.Parts {
				parts = append(parts, fmt.Sprintf("%02X=%X", p.PID.ID, p.Data))
			}
			for _, o := range r.Other {
				parts = append(parts, fmt.Sprintf("%04X=%X", o.ID, o.Data))
			}
			got += fmt.Sprintf(" %d [%s]", r.Record, strings.Join(parts, " "))
		}
		if got != c.want || !errors.Is(err, c.err) {
			t.Errorf("%s: %s, %v; want %s, %v", c.reply, got, err, c.want, c.err)
		}
	}
}

// The byte that cannot be.
func TestParseSnapshots_Place(t *testing.T) {
	for reply, want := range map[string]int{
		"59 06 12 34 56 24": 0, "59 04 12": 3,
		"59 04 12 34 56 24 02":                            7, // no number of identifiers
		"59 04 12 34 56 24 02 00":                         7, // none
		"59 04 04 20 00 FF 01 02 99 99 11 22 33":          8,
		"59 04 04 20 00 2F 00 02 F4 0C 1A F8 F4 0D":       12,
		"59 04 04 20 00 2F 00 01 F4 0D 50 01 01 F4 0C 1A": 13,
	} {
		_, _, err := ParseSnapshots(unhex(t, reply))
		if at := place(t, err); at != want {
			t.Errorf("%s: byte %d, want %d", reply, at, want)
		}
	}
}

func TestParseExtended(t *testing.T) {
	code, record, err := ParseExtended(unhex(t, "59 06 12 34 56 24 05 17"))
	if err != nil || code.String() != "P1234-56" || record == nil || record.Record != 5 || fmt.Sprintf("%X", record.Data) != "17" {
		t.Errorf("%v %v %v", code, record, err)
	}
	if _, record, err := ParseExtended(unhex(t, "59 06 12 34 56 24")); record != nil || err != nil {
		t.Errorf("%v %v", record, err)
	}
	if _, _, err := ParseExtended(unhex(t, "59 06 12 34 56 24 00 17")); !errors.Is(err, pids.ErrRecord) {
		t.Errorf("%v", err)
	}
}
