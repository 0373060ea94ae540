package report

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/casefile"
)

// doubts are reasons not to rely on the answer that lie in the files and not in the car: two cars, a
// file that was changed, or a drive on the wrong side of the repair.
func (w *writer) doubts() (list []string) {
	if w.twoCars() {
		list = append(list, "The files of this case name more than one identification number: they may not be of one car.")
	}
	for i := range w.e.Hashes {
		if h := &w.e.Hashes[i]; h.Changed() && (h.File.Kind == casefile.Drive || h.File.Kind == casefile.CodeCheck) {
			list = append(list, fmt.Sprintf("The %s %s is not as it was when it joined the case.", h.File.Kind, h.File.Name))
		}
	}
	for i := range w.e.Drives {
		d := &w.e.Drives[i]
		c := &w.e.Case
		switch at := d.At(); {
		case at.IsZero() || !c.Repaired():
		case d.File.Stage == casefile.After && c.Precedes(at):
			list = append(list, fmt.Sprintf("The drive %s counts as after the work, and its date, %s, is before the repair. One of the two is wrong.", d.File.Name, day(at)))
		case d.File.Stage == casefile.Before && !c.Precedes(at.AddDate(0, 0, -1)):
			list = append(list, fmt.Sprintf("The drive %s counts as before the work, and its date, %s, is after a repair. One of the two is wrong.", d.File.Name, day(at)))
		}
	}
	return list
}

// twoCars reports whether the files name more than one identification number.
func (w *writer) twoCars() bool {
	return len(w.vins()) > 1 || strings.HasPrefix(w.sameCar(), twoCars)
}

// twoCars begins the line about the car where it is not one.
const twoCars = "NO: "
