package recording

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
)

func TestCreate_NeverOverwrites(t *testing.T) {
	path := filepath.Join(t.TempDir(), "drive.jsonl")
	if err := os.WriteFile(path, []byte("an old drive"), 0o600); err != nil {
		t.Fatal(err)
	}
	w, err := Create(path, Header{})
	if w != nil || !errors.Is(err, fs.ErrExist) {
		t.Fatalf("writer %v, error %v; want ErrExist", w, err)
	}
	for _, part := range []string{path, "never overwritten", "another name"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("error says %q, want %q in it", err, part)
		}
	}
	if old, err := os.ReadFile(path); err != nil || string(old) != "an old drive" {
		t.Errorf("old file is now %q, %v", old, err)
	}
}

func TestCreate_ThenLoad(t *testing.T) {
	path := filepath.Join(t.TempDir(), "drive.jsonl")
	w, err := Create(path, sampleHeader)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range sampleEntries() {
		if err := w.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(WhyTime); err != nil {
		t.Fatal(err)
	}
	rec, err := Load(path)
	if err != nil || rec.Damage.Any() || !reflect.DeepEqual(rec.Entries, truncated(sampleEntries())) {
		t.Errorf("error %v, damage %v", err, rec.Damage.Words())
	}
	if rec.Damage.Why != WhyTime {
		t.Errorf("ended because %q", rec.Damage.Why)
	}
}

func TestCreate_NoFolder(t *testing.T) {
	_, err := Create(filepath.Join(t.TempDir(), "no", "drive.jsonl"), Header{})
	if !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "folder exists") {
		t.Errorf("error %v", err)
	}
}

func TestNewWriter_NoRoomForTheHeader(t *testing.T) {
	w, err := NewWriter(&memFile{room: 10}, "full.jsonl", Header{})
	if w != nil || !errors.Is(err, syscall.ENOSPC) || !strings.Contains(err.Error(), "full.jsonl") {
		t.Errorf("writer %v, error %v", w, err)
	}
	if _, err := NewWriter(&memFile{}, "x", Header{Adapter: strings.Repeat("A", maxLine)}); !errors.Is(err, ErrTooLong) {
		t.Errorf("a header of more than a line's limit: %v", err)
	}
}

// fillUp writes the sample entries to a file that fails somewhere, and checks the manners
// of the Writer on the way. It gives how many entries were taken.
func fillUp(t *testing.T, file *memFile) (taken int) {
	t.Helper()
	w, err := NewWriter(file, "drive.jsonl", Header{})
	if err != nil {
		t.Fatalf("room %d: %v", file.room, err)
	}
	var first error
	for _, e := range sampleEntries() {
		err := w.Append(e)
		switch {
		case first != nil && err != first: //nolint:errorlint // the very same value is promised
			t.Fatalf("room %d: error %v after %v", file.room, err, first)
		case err != nil:
			first = err
		default:
			taken++
		}
	}
	if w.Err() != first { //nolint:errorlint // the very same value is promised
		t.Fatalf("room %d: Err is %v, Append said %v", file.room, w.Err(), first)
	}
	err = w.Close(WhyUser)
	if first != nil && err != first { //nolint:errorlint // the very same value is promised
		t.Fatalf("room %d: Close says %v, Append said %v", file.room, err, first)
	}
	if !file.closed {
		t.Fatalf("room %d: file left open", file.room)
	}
	var we *WriteError
	if first != nil && (!errors.As(first, &we) || !we.Full) {
		t.Fatalf("room %d: error %v is not that of a full disk", file.room, first)
	}
	return taken
}

// A disk may be full at any byte. A short run takes every seventh, other ones for each manner.
func TestWriter_DiskFullAtEveryByte(t *testing.T) {
	t.Parallel()
	step := 1
	if testing.Short() {
		step = 7
	}
	var whole memFile
	all := fillUp(t, &whole)
	size := len(whole.bytes())
	header := len(headerLine(&Header{}))
	want := truncated(sampleEntries())
	for i, manner := range []struct {
		name            string
		noCut, onceOnly bool
	}{
		{name: "stays full"}, {name: "cannot cut", noCut: true},
		{name: "room comes back", onceOnly: true}, {name: "cannot cut, room comes back", noCut: true, onceOnly: true},
	} {
		for room := header + i%step; room < size; room += step {
			file := memFile{room: room, noCut: manner.noCut, onceOnly: manner.onceOnly}
			taken := fillUp(t, &file)
			rec := load(t, file.bytes())
			if manner.noCut && len(rec.Entries) == taken+1 {
				continue // all of the line but its line feed got in: it is whole, though Append failed
			}
			if len(rec.Entries) != taken || taken > 0 && !reflect.DeepEqual(rec.Entries, want[:taken]) {
				t.Fatalf("%s, room %d: %d entries taken, %d read", manner.name, room, taken, len(rec.Entries))
			}
			endGotIn := manner.noCut && room == size-1 // but for its line feed
			if !rec.Damage.Any() && !endGotIn {
				t.Fatalf("%s, room %d: no damage reported", manner.name, room)
			}
			// Once there is room, the file must say that recording had stopped.
			reported := rec.Damage.Stopped && rec.Damage.Why == WhyDiskFull && rec.Damage.Missing == 0
			if manner.onceOnly && taken < all && !reported {
				t.Fatalf("%s, room %d: %v", manner.name, room, rec.Damage.Words())
			}
		}
	}
}

// The disk that is full for good leaves no torn line, if it can be cut.
func TestWriter_FullDiskLeavesNoTornLine(t *testing.T) {
	header := len(headerLine(&Header{}))
	for room := header; room < header+200; room++ {
		file := memFile{room: room}
		fillUp(t, &file)
		if d := load(t, file.bytes()).Damage; d.TornBytes > 0 || d.BadLines > 0 {
			t.Fatalf("room %d: %v", room, d.Words())
		}
	}
}

func TestWriter_ErrorSaysWhatAndWhatNext(t *testing.T) {
	for _, c := range []struct {
		cause error
		says  string
		why   string
	}{
		{syscall.ENOSPC, "the disk is full", WhyDiskFull},
		{&fs.PathError{Op: "write", Path: "d", Err: syscall.EIO}, "cannot be written: " + syscall.EIO.Error(), WhyWriteError},
		{io.ErrShortWrite, "cannot be written", WhyWriteError},
	} {
		line := sealed(`{"k":"felt","t":45000000`)
		file := memFile{room: len(headerLine(&Header{})) + len(line), cause: c.cause, onceOnly: true}
		w, err := NewWriter(&file, "drive.jsonl", Header{})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Append(Felt(45 * time.Second)); err != nil {
			t.Fatal(err)
		}
		err = w.Append(Felt(46 * time.Second))
		if !errors.Is(err, c.cause) {
			t.Fatalf("error %v, want %v", err, c.cause)
		}
		for _, part := range []string{"drive.jsonl", "after 45 s", c.says, "is kept", "even once the fault is gone", "start a new session"} {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("error says %q, want %q in it", err, part)
			}
		}
		if err := w.About(About{}); !errors.Is(err, c.cause) {
			t.Errorf("About says %v", err)
		}
		if err := w.Close(WhyUser); !errors.Is(err, c.cause) {
			t.Errorf("Close says %v", err)
		}
		if got := load(t, file.bytes()).Damage; got.Why != c.why || !got.Stopped {
			t.Errorf("file says %+v, want %s", got, c.why)
		}
	}
}

// A disk that stays full must cost the session nothing.
func TestWriter_StoppedAppendIsCheap(t *testing.T) {
	file := memFile{room: len(headerLine(&Header{})) + 5}
	w, err := NewWriter(&file, "x", Header{})
	if err != nil {
		t.Fatal(err)
	}
	e := OfExchange(driveExchange(1))
	stopped := w.Append(e)
	if stopped == nil {
		t.Fatal("no error from a full disk")
	}
	writes := file.writes
	if n := testing.AllocsPerRun(100, func() { _ = w.Append(e) }); n != 0 || file.writes != writes {
		t.Errorf("%v allocations, %d writes after the recording had stopped", n, file.writes-writes)
	}
	_ = w.Close(WhyUser) // the error is that of Append, checked elsewhere
}

func TestWriter_EntryTheFormatCannotHold(t *testing.T) {
	var file memFile
	w, err := NewWriter(&file, "x", Header{})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range []Entry{
		{Kind: kindCount}, {Kind: 255},
		OfExchange(obd.Exchange{Ending: 200}), OfExchange(obd.Exchange{Form: 200}), OfLink(obd.LinkChange{State: 200}),
	} {
		if err := w.Append(e); !errors.Is(err, ErrNotUnderstood) {
			t.Errorf("%v: error %v", e.Kind, err)
		}
	}
	if err := w.Append(Note(0, strings.Repeat("x", maxLine))); !errors.Is(err, ErrTooLong) {
		t.Errorf("long note: error %v", err)
	}
	if err := w.About(About{Adapter: strings.Repeat("x", maxLine)}); !errors.Is(err, ErrTooLong) {
		t.Errorf("long about line: error %v", err)
	}
	if err := w.Append(Felt(1000)); err != nil { // recovers
		t.Errorf("an entry after those: %v", err)
	}
	if err := w.Close(WhyUser); err != nil {
		t.Fatal(err)
	}
	if rec := load(t, file.bytes()); len(rec.Entries) != 1 || rec.Damage.Any() {
		t.Errorf("%+v", rec)
	}
}

func TestWriter_AfterClose(t *testing.T) {
	var file memFile
	w, err := NewWriter(&file, "x", Header{})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(WhyUser); err != nil {
		t.Fatal(err)
	}
	size := len(file.bytes())
	if err := w.Append(Felt(0)); !errors.Is(err, ErrClosed) {
		t.Errorf("Append: %v", err)
	}
	if err := w.About(About{}); !errors.Is(err, ErrClosed) {
		t.Errorf("About: %v", err)
	}
	if err := w.Close(WhyTime); !errors.Is(err, ErrClosed) {
		t.Errorf("Close: %v", err)
	}
	if w.Err() != nil || len(file.bytes()) != size {
		t.Errorf("error %v, %d bytes more", w.Err(), len(file.bytes())-size)
	}
}

func TestWriter_OneWriteALine(t *testing.T) {
	var file memFile
	w, err := NewWriter(&file, "x", Header{})
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range sampleEntries() {
		if err := w.Append(e); err != nil {
			t.Fatal(err)
		}
		data := file.bytes()
		if file.writes != i+2 || data[len(data)-1] != '\n' || bytes.Count(data, []byte("\n")) != i+2 {
			t.Fatalf("%d writes for %d lines", file.writes, i+2)
		}
	}
	if err := w.Close(WhyUser); err != nil {
		t.Fatal(err)
	}
}

func TestWriter_AppendAllocatesNothing(t *testing.T) {
	w, err := NewWriter(nowhere{io.Discard}, "x", Header{})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range sampleEntries() {
		if n := testing.AllocsPerRun(50, func() { _ = w.Append(e) }); n != 0 {
			t.Errorf("%v: %v allocations", e.Kind, n)
		}
	}
	if err := w.Close(WhyUser); err != nil {
		t.Fatal(err)
	}
}

// Synced once a second, and only when something was written.
func TestWriter_SyncsOnceASecondWhenDirty(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var file memFile
		w, err := NewWriter(&file, "x", Header{})
		if err != nil {
			t.Fatal(err)
		}
		check := func(after time.Duration, want int) {
			t.Helper()
			<-time.After(after)
			synctest.Wait()
			if file.syncs != want {
				t.Errorf("%d syncs, want %d", file.syncs, want)
			}
		}
		check(1500*time.Millisecond, 1) // the header
		check(10*time.Second, 1)        // nothing new
		for range 50 {
			if err := w.Append(Felt(0)); err != nil {
				t.Fatal(err)
			}
		}
		check(time.Second, 2)
		if file.synced != len(file.bytes()) {
			t.Errorf("%d of %d bytes synced", file.synced, len(file.bytes()))
		}
		if err := w.Close(WhyUser); err != nil {
			t.Fatal(err)
		}
		if file.syncs != 3 || file.synced != len(file.bytes()) {
			t.Errorf("%d syncs after Close, %d of %d bytes", file.syncs, file.synced, len(file.bytes()))
		}
	})
}

func TestWriter_SyncErrorStopsTheRecording(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		file := memFile{syncErr: syscall.EIO}
		w, err := NewWriter(&file, "x", Header{})
		if err != nil {
			t.Fatal(err)
		}
		<-time.After(1500 * time.Millisecond)
		synctest.Wait()
		if err := w.Append(Felt(0)); !errors.Is(err, syscall.EIO) {
			t.Errorf("Append after a failed sync: %v", err)
		}
		if err := w.Close(WhyUser); !errors.Is(err, syscall.EIO) {
			t.Errorf("Close: %v", err)
		}
		if d := load(t, file.bytes()).Damage; !d.Stopped || d.Why != WhyWriteError {
			t.Errorf("damage %+v", d)
		}
	})
}

func TestWriter_SyncErrorAtTheEnd(t *testing.T) {
	file := memFile{syncErr: syscall.EIO}
	w, err := NewWriter(&file, "x", Header{})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(WhyUser); !errors.Is(err, syscall.EIO) || !file.closed {
		t.Errorf("Close: %v, closed %v", err, file.closed)
	}
}

// Some file systems cannot sync; that is no reason to stop.
func TestWriter_FileSystemThatCannotSync(t *testing.T) {
	for _, cause := range []error{syscall.EINVAL, syscall.ENOTSUP, errors.ErrUnsupported} {
		synctest.Test(t, func(t *testing.T) {
			file := memFile{syncErr: cause}
			w, err := NewWriter(&file, "x", Header{})
			if err != nil {
				t.Fatal(err)
			}
			<-time.After(3 * time.Second)
			if err := errors.Join(w.Append(Felt(0)), w.Close(WhyUser)); err != nil {
				t.Errorf("%v: %v", cause, err)
			}
		})
	}
}

// For the race detector: entries, marks, syncs and the end from several goroutines.
func TestWriter_ManyGoroutines(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var file memFile
		w, err := NewWriter(&file, "x", Header{})
		if err != nil {
			t.Fatal(err)
		}
		var wg sync.WaitGroup
		const each, workers = 200, 4
		for range workers {
			wg.Go(func() {
				for i := range each {
					at := time.Duration(i) * 20 * time.Millisecond
					if err := errors.Join(w.Append(Felt(at)), w.Err()); err != nil {
						t.Error(err)
					}
					<-time.After(20 * time.Millisecond)
				}
			})
		}
		wg.Wait()
		closed := make(chan error, 2)
		for range 2 {
			go func() { closed <- w.Close(WhyUser) }()
		}
		if a, b := <-closed, <-closed; (a == nil) == (b == nil) {
			t.Errorf("two Closes say %v and %v", a, b)
		}
		if rec := load(t, file.bytes()); len(rec.Entries) != each*workers || rec.Damage.Any() {
			t.Errorf("%d entries, %v", len(rec.Entries), rec.Damage.Words())
		}
	})
}

const killPath = "RECORDING_TEST_KILL_PATH"

// A program that is killed loses nothing that Append has taken.
func TestWriter_Killed(t *testing.T) {
	if path := os.Getenv(killPath); path != "" {
		writeUntilKilled(path)
		return
	}
	path := filepath.Join(t.TempDir(), "drive.jsonl")
	cmd := exec.Command(os.Args[0], "-test.run=^TestWriter_Killed$")
	cmd.Env = append(os.Environ(), killPath+"="+path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	const known = 100
	if _, err := io.ReadFull(out, make([]byte, known)); err != nil { // a byte an entry
		t.Error(err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Error(err)
	}
	_ = cmd.Wait() // killed, so always an error
	rec, err := Load(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(rec.Entries) < known || rec.Damage.Ended || rec.Damage.BadLines > 0 {
		t.Errorf("%d entries of at least %d, %v", len(rec.Entries), known, rec.Damage.Words())
	}
}

// writeUntilKilled writes a byte for each entry that was taken.
func writeUntilKilled(path string) {
	w, err := Create(path, Header{})
	for i := 0; err == nil; i++ {
		if err = w.Append(OfExchange(driveExchange(i))); err == nil {
			_, err = os.Stdout.Write([]byte{'.'})
		}
	}
	os.Exit(1)
}
