package simcar

import "math"

// Test ids and scaling of the misfire counters (SAE J1979 service $06 on CAN).
const (
	misfireGeneral  = 0xA1 // the cylinders follow: A2 is cylinder 1
	testAverage     = 0x0B // weighted average of the last ten drive cycles
	testCurrent     = 0x0C // this drive cycle
	scalingCounts   = 0x24 // one count per bit
	lastMisfireTest = 0xAD // cylinder 12
)

// testResults is service $06 on CAN: support maps and the misfire counters, each as a
// record MID TID scaling value low high. The older buses' layout is not simulated.
func testResults(e *ECU, q *query) byte {
	switch {
	case !q.can:
		return serviceNotSupported
	case len(q.request) != 2:
		return wrongLength
	}
	cylinders := min(len(e.Misfires), lastMisfireTest-misfireGeneral)
	last := byte(misfireGeneral + cylinders)
	has := func(mid byte) bool {
		return cylinders > 0 && (mid >= misfireGeneral && mid <= last || mid%0x20 == 0 && mid <= 0xA0)
	}
	mid := q.request[1]
	switch {
	case mid%0x20 == 0 && (mid == 0 || has(mid)):
		m := supportMap(mid, has)
		q.add(0x46, mid)
		q.extend(m[:]...)
	case !has(mid):
		return requestOutOfRange
	default:
		counts := e.misfireOf(int(mid)-misfireGeneral, q.condition)
		q.add(0x46)
		q.extendWithTest(mid, testAverage, counts.Average)
		q.extendWithTest(mid, testCurrent, counts.Current)
	}
	return 0
}

// extendWithTest adds one record of nine bytes; the limits leave every count to pass.
func (q *query) extendWithTest(mid, tid byte, value uint16) {
	q.extend(mid, tid, scalingCounts, byte(value>>8), byte(value), 0x00, 0x00, 0xFF, 0xFF)
}

// misfireOf is the pair of counters of a cylinder, counted from 1; 0 is all together.
func (e *ECU) misfireOf(cylinder int, now *Condition) Misfire {
	if cylinder == 0 {
		var average, current int
		for i := range e.Misfires {
			m := e.misfireOf(i+1, now)
			average += int(m.Average)
			current += int(m.Current)
		}
		return Misfire{uint16(min(average, math.MaxUint16)), uint16(min(current, math.MaxUint16))}
	}
	m := e.Misfires[cylinder-1]
	if cylinder <= len(now.Misfires) {
		m.Current = now.Misfires[cylinder-1]
	}
	return m
}
