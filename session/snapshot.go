// Package session is the pump: it takes entries from a source (a live link or a
// recording), writes them, decodes them, looks for shudder in them, and keeps a board that the
// screen reads.
package session

import (
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/session/complaint"
)

// Phase is what the session is doing.
type Phase uint8

// The phases.
const (
	Connecting Phase = iota
	Running
	LinkLost
	Replaying
	Paused
	Finished
)

// Point is one value at one time of the drive.
type Point struct {
	At    time.Duration
	Value float64
}

// Lane is one signal on the board.
type Lane struct {
	Signal  pids.Signal
	ECU     string
	Name    string
	Unit    string
	Step    float64       // of its values, in its unit; 0 when not known
	Role    vehicle.Role  // by the vehicle profile; also of a lane of slip that is computed
	Value   float64       // latest
	At      time.Duration // when Value came
	Rate    float64       // readings a second over the last 10 s
	Repeats bool          // the car renews the value less often than it is read: Rate is how often it does
	History []Point       // oldest first, true times, the last two minutes
}

// Link is the health of the link.
type Link struct {
	State     obd.LinkState
	Text      string        // latest change, as recorded
	Cause     obd.Cause     // of the latest change
	Reason    LinkReason    // why the car is not read
	Exchanges int           // requests to the car
	Silent    int           // requests without an answer
	Waited    int           // requests to which the car said no more than "wait" (7F xx 78)
	Damaged   int           // reply lines dropped
	HostShare time.Duration // median time from a prompt to the next request
	Source    string        // port or file
}

// Snapshot is all that a screen shows, copied under the session's lock. Slices are reused
// from one call to the next: a Snapshot belongs to one reader.
type Snapshot struct {
	Now       time.Duration // the drive's own clock
	Phase     Phase
	Link      Link
	Recording string // path; "" when nothing is recorded
	Trouble   string // what is wrong with the recording, in words; "" when all is well
	Stopped   RecordingStop

	Detector     detect.State
	Unread       Unread // why engine speed is not read, where the detector's reason is a gap
	Lanes        []Lane
	Swing, Limit []Point // swing and its limit, one point an evaluation, the last two minutes
	Events       []detect.Event
	Stops        []detect.Stop
	Observations []detect.Observation
	Slip         []slip.Swing      // slip that swung while it should not
	Apparent     slip.ApparentSlip // engine speed against the locked ratio, now
	Spans        []detect.Span
	Losses       []Loss      // of the link; the last may be open
	Checks       []CodeCheck // the last may be running
	Missing      []Missing   // parameters of the profile that the car does not give
	Marks        []Mark
	Blind        BlindState
	Complaint    complaint.Box
	Passes       []Pass // long enough; the last may still grow
	Cover        Coverage
	Need         Need           // of the complaint
	Codes        []Code         // trouble codes that a code check inside the drive read
	Verdict      detect.Verdict // of the drive up to now, as Headline
	Headline     Headline
	Steps        []steps.Step // recognised up to now; a step is known some seconds after it was made
	Arming       Arming       // the step that the user announced

	Check  CheckState
	Replay ReplayState
}

// ReplayState is where a replay is; zero in a live session.
type ReplayState struct {
	Length time.Duration // of the whole recording
	Speed  float64       // 1 is real time
	Paused bool
	Damage string // what is missing from the recording, in words

	MarksTrouble string // why marks made at the bench are not kept beside the recording; "" when all is well

	// Found in the whole recording, before and after the cursor.
	Events       []detect.Event
	Stops        []detect.Stop
	Observations []detect.Observation
	Slip         []slip.Swing
	Spans        []detect.Span
	Losses       []Loss
	Checks       []CodeCheck
	Missing      []Missing
	Marks        []Mark
	Steps        []steps.Step

	Course Course  // shared with the session, never changed
	Whole  *Result // of the whole recording; shared, never changed
}
