package cli

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/table"
)

// A command that does not look at the context ends all the same. A file that it is writing is taken away,
// and none is begun after it.
func TestAtOnce_LeavesNoHalf(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancelCause(context.Background())
		e := &env{ctx: ctx}
		dir := t.TempDir()
		whole, half, later := filepath.Join(dir, "whole"), filepath.Join(dir, "half"), filepath.Join(dir, "later")
		wait, left := make(chan bool), make(chan error, 1)
		err := e.atOnce(func() error {
			if err := e.halves.writeNew(whole, given([]byte("whole"))); err != nil {
				return err
			}
			err := e.halves.writeNew(half, func(w io.Writer) error {
				cancel(session.EndedBy("told to"))
				<-wait
				return given([]byte("half"))(w)
			})
			left <- errors.Join(err, e.halves.writeNew(later, given(nil)))
			return nil
		})
		var by session.EndedBy
		if !errors.As(err, &by) {
			t.Errorf("error %v", err)
		}
		for path, there := range map[string]bool{whole: true, half: false} {
			if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) == there {
				t.Errorf("%s: %v", path, err)
			}
		}
		close(wait)
		if err := <-left; !errors.Is(err, errEnded) {
			t.Errorf("a file is begun after the end: %v", err)
		}
		if _, err := os.Stat(later); err == nil {
			t.Error("a file is left after the end")
		}
	})
}

// A command that has failed or is done by itself says so.
func TestAtOnce_Done(t *testing.T) {
	e := &env{ctx: t.Context()}
	if err := e.atOnce(func() error { return fs.ErrExist }); !errors.Is(err, fs.ErrExist) {
		t.Error(err)
	}
}

// An import that is ended while it writes takes its recording away.
func TestImport_EndedWhileWriting(t *testing.T) {
	ctx, cancel := context.WithCancelCause(t.Context())
	cancel(session.EndedBy("told to"))
	out := filepath.Join(t.TempDir(), "a.jsonl")
	c := importCommand{Out: out}
	err := c.record(&env{ctx: ctx}, &table.Imported{Samples: []pids.Sample{{Signal: pids.RPM, Value: 800}}}, "a.csv")
	if err == nil {
		t.Error("no error")
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("half a recording is left")
	}
}

func TestEndsAtOnce(t *testing.T) {
	for command, want := range map[string]bool{"import <FILE.csv>": true, "review <FILE>": true, "picture <FILE>": true, "drive": false, "check": false, "case add <DIR> <FILE>": false} {
		if got := endsAtOnce(command); got != want {
			t.Errorf("%s: %v", command, got)
		}
	}
}
