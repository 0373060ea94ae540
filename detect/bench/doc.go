// Package bench measures the detector: drives with known truth, read in several ways, and the
// figures that follow, each with an exact 95 % interval (shares: Clopper and Pearson 1934;
// false alarms an hour: Garwood 1936).
//
// Two worlds keep the detector from being fitted to one: a car by formula (formula.go,
// happen.go, read.go) and the simulated car of simcar/drivetrain (physics.go). A [Scene] is one
// drive of one script; scene.go says how often a script is driven in a round and as what. A round
// is about 7 h in each world. The package stands outside of what detect imports, and look.go is
// the one file that knows what a look of the detector holds.
//
// # The table
//
//	go test -v ./detect/bench -run Table -table [flags]
//
//	-seed n       first seed (1000); a round takes 200
//	-drives n     rounds (1)
//	-rate list    among 3, 3u, 5, 5u, 10, 20, 60, 60r; all when not given. u asks unevenly, r reads
//	              an ECU that has a new value every 100 ms
//	-world w      formula, car or both
//	-only list    these scripts alone, by name
//	-change list  numbers of the detector changed, name=value,…; several variants parted by ;
//	-oracle       ask the oracle, too, which knows when bursts begin and end (oracle.go)
//	-show n       list so many notes of each kind, and what was seen beside shudder
//	-notes list   kinds of notes: found, missed, false, stop, verdict, always-on car missed; or all
//	-workers n    drives at once; one for each core when not given
//
// It prints, for each way of reading: bursts found of 50 to 100 rpm and above, false alarms an hour,
// cars found that always shake, medians of delay, start, end and size, verdicts on cars without
// fault, with another fault and without fixed gears, engine stops by kind, false alarms by script,
// and bursts found by script, length, frequency and size. A burst counts when the foot was still
// and it lasted a second; those of scripts with bursts under three cycles are counted apart. A note
// of a miss or a false alarm ends with the chain of what the detector's state was over it, look by
// look, and the look that came nearest to an alarm.
//
// "Testable" is by the truth, not by what the detector judged: 40 s of steady cruise in three
// passes, the first 3 s of each left out.
//
// # One drive
//
//	go test -v ./detect/bench -run Replay -replay 'car/load misfire/1023/0' -rate 10 -from 60 -to 70
//
// prints what was read, what was true and what the detector thought, look by look; a note begins
// with what -replay takes. -save writes the drive to a folder as time_s,signal,value.
//
// # Uneven asking
//
// Below 7 readings of engine speed a second the live schedule draws each interval evenly from ±50 %
// of the usual one. 3u and 5u do the same; the companions lie midway.
//
// # Seeds
//
// Below 100000: tuning. From 600000: measuring, each once. Ranges that are spent stand in
// spent.txt; whoever measures adds a line.
//
// TestAddedSwings adds known swings to a real minute of fixtures and counts how many are found.
package bench
