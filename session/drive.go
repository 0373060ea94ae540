package session

import (
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/session/table"
)

// Drive is a recording as it leaves judder: its readings, and what was found in them.
type Drive struct {
	Samples []pids.Sample // in order of arrival
	Result  Result        // with Damage
	units   *Analysis
}

// Unit gives the unit of a signal, from the standard's table or the vehicle profile.
func (d *Drive) Unit(s pids.Signal) string {
	_, unit := d.units.About(s)
	return unit
}

// OpenDrive reads a recording. Readings that were decoded come without the digits that only the
// computation made; imported ones come as they are. The error is that of [Review].
func OpenDrive(path string) (*Drive, error) {
	d := &Drive{}
	steps := map[pids.Signal]float64{}
	var imported []bool
	a, damage, err := through(path, func(e *recording.Entry, samples []pids.Sample) {
		for _, s := range samples {
			d.Samples = append(d.Samples, s)
			imported = append(imported, e.Kind == recording.KindReading)
		}
	})
	if err != nil {
		return nil, err
	}
	for i := range d.Samples {
		s := &d.Samples[i]
		if imported[i] {
			continue
		}
		step, known := steps[s.Signal]
		if !known {
			step = a.step(s.Signal)
			steps[s.Signal] = step
		}
		s.Value = table.Tidy(s.Value, step)
	}
	d.units, d.Result = a, a.Result()
	d.Result.Damage = damage
	return d, nil
}
