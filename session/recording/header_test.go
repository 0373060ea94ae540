package recording

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"reflect"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

func TestHeader_RoundTrip(t *testing.T) {
	for _, h := range []Header{
		{},
		{Start: time.Date(2026, 3, 1, 23, 59, 59, 999_999_999, time.UTC)},
		{Start: time.Date(1, 6, 1, 0, 0, 0, 0, time.UTC)}, // before any drive: left out
		{Adapter: "ä", Port: `\\.\COM3`, Extra: map[string]string{"": "", "k": "v"}},
		sampleHeader,
	} {
		got := load(t, headerLine(&h)).Header
		want := h
		if want.Start.Year() == 1 {
			want.Start = time.Time{}
		}
		if !got.Start.Equal(want.Start) {
			t.Errorf("start %v, want %v", got.Start, want.Start)
		}
		got.Start, want.Start = time.Time{}, time.Time{}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("header %+v, want %+v", got, want)
		}
	}
}

// The vehicle identification number is personal: it is in the file only when given.
func TestHeader_NoVINUnlessAsked(t *testing.T) {
	h := sampleHeader
	h.VIN = ""
	if line := headerLine(&h); bytes.Contains(line, []byte("vin")) {
		t.Errorf("a field for it in %s", line)
	}
	if line := headerLine(&sampleHeader); !bytes.Contains(line, []byte(`"vin":"TESTVEHICLE000001"`)) {
		t.Errorf("not in %s", line)
	}
}

// Equal headers make equal lines, whatever the order of the map.
func TestHeader_ExtraInOrder(t *testing.T) {
	h := Header{Extra: map[string]string{"c": "3", "a": "1", "b": "2"}}
	for range 20 {
		if line := headerLine(&h); !bytes.Contains(line, []byte(`"extra":{"a":"1","b":"2","c":"3"}`)) {
			t.Fatalf("%s", line)
		}
	}
}

func TestReader_HeaderGrowsWithAboutLines(t *testing.T) {
	about := func(a About) string { return string(appendAbout(nil, &a)) }
	file := string(headerLine(&Header{Adapter: "old", Port: "p"})) +
		sealed(`{"k":"felt","t":1`) +
		about(About{At: 1000, Adapter: "new", Extra: map[string]string{"a": "1", "b": "1"}}) +
		sealed(`{"k":"felt","t":2`) +
		about(About{At: 2000, VIN: "V", Extra: map[string]string{"b": "2"}})
	r, err := NewReader(strings.NewReader(file), "x")
	if err != nil {
		t.Fatal(err)
	}
	var steps []Header
	for r.Next() {
		steps = append(steps, Header{Adapter: r.Header().Adapter, VIN: r.Header().VIN})
	}
	if want := []Header{{Adapter: "old"}, {Adapter: "new"}}; !reflect.DeepEqual(steps, want) {
		t.Errorf("on the way: %+v, want %+v", steps, want)
	}
	want := Header{Adapter: "new", Port: "p", VIN: "V", Extra: map[string]string{"a": "1", "b": "2"}}
	if got := r.Header(); !reflect.DeepEqual(got, want) {
		t.Errorf("at the end: %+v, want %+v", got, want)
	}
	if r.Next() {
		t.Error("goes on after the end")
	}
	if _, ok := r.End(); ok || r.Err() != nil || r.Close() != nil {
		t.Errorf("end %v, error %v", ok, r.Err())
	}
}

// An about line may be the first sound one of a file whose header is lost.
func TestReader_HeaderLostAboutKept(t *testing.T) {
	a := About{Adapter: "simulated"}
	rec := load(t, append([]byte("x\n"), appendAbout(nil, &a)...))
	if rec.Header.Adapter != "simulated" || !rec.Damage.HeaderLost {
		t.Errorf("%+v", rec)
	}
}

// Every line that is written is JSON to encoding/json, with the crc as its last field.
func TestLines_AreJSON(t *testing.T) {
	for line := range bytes.Lines(sampleFile(t)) {
		var fields map[string]any
		if err := json.Unmarshal(line, &fields); err != nil {
			t.Errorf("%s: %v", line, err)
		}
		if crc, _ := fields["crc"].(string); len(crc) != 8 || !bytes.HasSuffix(line, []byte(`,"crc":"`+crc+"\"}\n")) {
			t.Errorf("%s does not end with its checksum", line)
		}
	}
}

func TestKind_String(t *testing.T) {
	for kind, want := range map[Kind]string{
		KindExchange: "x", KindLink: "link", KindFelt: "felt", KindNote: "note", KindReading: "r", 200: "unknown(200)",
	} {
		if got := kind.String(); got != want {
			t.Errorf("%d: %q, want %q", kind, got, want)
		}
	}
}

// A new value of obd must get a name here before it can be written.
func TestNames_EveryValueHasOne(t *testing.T) {
	if n := len(endingNames); n != int(obd.EndLost)+1 {
		t.Errorf("%d names of endings", n)
	}
	if n := len(formNames); n != int(obd.FormBare)+1 {
		t.Errorf("%d names of forms", n)
	}
	if n := len(stateNames); n != int(obd.LinkCar)+1 {
		t.Errorf("%d names of link states", n)
	}
	for _, table := range [][]string{kindNames[:], endingNames[:], formNames[:], stateNames[:]} {
		for i, name := range table {
			if name == "" || indexOf(table, []byte(name)) != i {
				t.Errorf("value %d of %q has no name of its own", i, table)
			}
		}
	}
}

func TestFileError_SaysWhatToDo(t *testing.T) {
	for _, c := range []struct {
		cause error
		says  string
	}{
		{&fs.PathError{Op: "open", Path: "p", Err: fs.ErrPermission}, "cannot open f: permission denied; check who may read"},
		{&fs.PathError{Op: "open", Path: "p", Err: fs.ErrNotExist}, "cannot open f: file does not exist; check the name"},
		{&fs.PathError{Op: "open", Path: "p", Err: syscall.ENOTDIR}, "cannot open f: not a directory; check the name"},
		{ErrFolder, "cannot open f: this is a folder; name the file in it"},
		{ErrNewer, "cannot open f: it was written by a newer version of the program; open it with that version"},
		{errors.New("odd\a"), "cannot open f: odd ; check the disk and try again"},
	} {
		err := NewFileError("open", "f", c.cause)
		if !strings.HasPrefix(err.Error(), c.says) || !errors.Is(err, c.cause) {
			t.Errorf("says %q, want %q", err, c.says)
		}
	}
}
