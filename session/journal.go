package session

import (
	"errors"
	"time"

	"github.com/judder-obd/judder/session/recording"
)

// Recorder takes the entries of a live session; [recording.Writer] is one.
type Recorder interface {
	Append(recording.Entry) error
	About(recording.About) error
	Close(why string) error
	Place() recording.Place
}

// RecordingStop is what went wrong with a recording though the drive goes on; zero while all is well.
type RecordingStop struct {
	At    time.Duration // up to here it is recorded
	Cause string        // in few words; "" where it did not stop
	Place recording.Place
}

// Lost reports whether the recording is no longer where it was begun.
func (s *RecordingStop) Lost() bool { return s.Cause == "" && s.Place == recording.Lost }

// Rewritten reports whether the recording was removed or moved, and written again whole.
func (s *RecordingStop) Rewritten() bool { return s.Cause == "" && s.Place == recording.Rewritten }

// lostWords are what is said of a recording that is no longer where it was begun.
const lostWords = "the recording is no longer where it was begun: it, or its folder, was removed or moved during the drive; " +
	"if it was moved, it goes on where it is now"

// became is what became of the recording, in short and in words; "" while all is well.
func (j *journal) became() (stop RecordingStop, trouble string) {
	stop, trouble = j.stop, j.trouble
	if j.rec == nil {
		return stop, trouble
	}
	if stop.Place = j.rec.Place(); stop.Lost() && trouble == "" {
		trouble = lostWords
	}
	return stop, trouble
}

// journal writes a live session to its recording. The first failure is kept for the screen, and
// the session goes on without recording.
type journal struct {
	rec      Recorder // nil when nothing is recorded
	trouble  string   // the first failure
	stop     RecordingStop
	requests int // requests to the car that were written
}

func (j *journal) write(e *recording.Entry) {
	if j.rec == nil {
		return
	}
	if err := j.rec.Append(*e); err != nil {
		j.failed(err)
		return
	}
	if e.Kind == recording.KindExchange && isRequest(e.Exchange.Request) {
		j.requests++
	}
}

func (j *journal) about(a recording.About) {
	if j.rec != nil {
		j.failed(j.rec.About(a))
	}
}

func (j *journal) close(why string) {
	if j.rec != nil {
		j.failed(j.rec.Close(why))
	}
}

func (j *journal) failed(err error) {
	if err == nil || j.trouble != "" {
		return
	}
	j.trouble = err.Error()
	var stopped *recording.WriteError
	if errors.As(err, &stopped) {
		j.stop = RecordingStop{At: stopped.At, Cause: stopped.Cause()}
	}
}
