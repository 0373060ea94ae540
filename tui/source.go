package tui

import (
	"time"

	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/session"
)

// Source is a session as the screen sees it: a [Drive] or a [Replay]. All methods may be called
// from one goroutine and return at once.
type Source interface {
	// Snapshot copies what there is to show. Called at every frame.
	Snapshot(dst *session.Snapshot)
	// Felt marks this moment as one at which the user felt the shake. In a replay that is the moment
	// at the cursor, and the mark is kept beside the recording, as a note is.
	Felt()
	// Note marks this moment with words.
	Note(text string)
	// TakeBack takes the last felt mark back, at the bench the last mark or note that was made there, and
	// returns it; ok is false where there is none.
	TakeBack() (m session.Mark, ok bool)
	// End ends the session; called once, before the last page or when the screen has gone.
	End()
}

// Drive is a live session.
type Drive interface {
	Source
	// SetBlind begins or ends a blind pass, in which the screen hides what is found.
	SetBlind(on bool)
	// ArmStep announces a step that is about to be made, instead of another; Disarm ends that.
	ArmStep(k steps.Kind)
	Disarm()
	// Result is what was found in the whole drive; called once it is over.
	Result() session.Result
	// StartCheck begins a code check; the error says why not.
	StartCheck() error
}

// Exporter writes what lies between two times of a recording to files, and returns their names.
type Exporter func(from, to time.Duration) (files string, err error)

// Replay is a recording that plays.
type Replay interface {
	Source
	// Pause holds the replay, or lets it go on.
	Pause(hold bool)
	// SetSpeed sets how fast the replay runs; 1 is real time.
	SetSpeed(x float64)
	// Seek moves the replay to a time of the drive, without playing what lies between.
	Seek(t time.Duration)
}

// shown is the session on the screen: one of drive and replay is nil.
type shown struct {
	Source
	drive  Drive
	replay Replay
}

func driving(d Drive) shown    { return shown{Source: d, drive: d} }
func replaying(r Replay) shown { return shown{Source: r, replay: r} }
