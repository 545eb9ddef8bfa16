package watch

import (
	"fmt"
	"time"

	"github.com/dustin/go-humanize"
)

const (
	// fillLooked is how long a disk must have been looked at before it is told when
	// it will be full, and fillKept how far back the looks go.
	fillLooked = 10 * time.Minute
	fillKept   = 6 * time.Hour
	fillEvery  = time.Minute
	// fillSoon is how near that must be.
	fillSoon = 24 * time.Hour
	// low is how little room there may be above what stays free.
	low = 1 << 30
)

// Disk is a disk and its room.
type Disk struct {
	Where string // such as hub, or bay north
	Free  uint64 // bytes
	// Reserve is what stays free: below it nothing is taken.
	Reserve uint64
	// Told says that who writes there tells by itself when little room is left.
	Told bool
}

type looked struct {
	at   time.Time
	free uint64
}

// Rooms tells when disks will be full, from how they filled in the last hours.
type Rooms struct{ seen map[string][]looked }

// Look takes the room that disks have now and lists those that will soon be full.
func (r *Rooms) Look(disks []Disk, now time.Time) (out []Alarm) {
	if r.seen == nil {
		r.seen = map[string][]looked{}
	}
	for _, d := range disks {
		list := r.seen[d.Where]
		if n := len(list); n == 0 || now.Sub(list[n-1].at) >= fillEvery {
			list = append(list, looked{now, d.Free})
		}
		for now.Sub(list[0].at) > fillKept {
			list = list[1:]
		}
		r.seen[d.Where] = list
		if a := d.filling(list[0], now); a != nil {
			out = append(out, *a)
		}
	}
	return out
}

// filling is the alarm of a disk that had so much room at an earlier look.
func (d Disk) filling(before looked, now time.Time) *Alarm {
	if d.Free <= d.Reserve {
		return &Alarm{Where: d.Where, What: "full", Severity: Critical,
			Text: fmt.Sprintf("%s free on its disk, and %s are kept in reserve: nothing more is taken. Free space", humanize.IBytes(d.Free),
				humanize.IBytes(d.Reserve))}
	}
	if d.Free <= d.Reserve+low && !d.Told {
		return &Alarm{Where: d.Where, What: "low", Severity: Warning,
			Text: fmt.Sprintf("%s are left on its disk%s, and at %s nothing more is taken: free space, or move the data folder to a larger disk",
				humanize.IBytes(d.Free), d.until(before, now), humanize.IBytes(d.Reserve))}
	}
	left, since := d.left(before, now)
	if left == 0 || left > fillSoon {
		return nil
	}
	return &Alarm{Where: d.Where, What: "filling", Severity: Warning,
		Text: fmt.Sprintf("its disk is full in about %s if it goes on filling as in the last %s (%s free): free space, or see what writes so "+
			"much",
			roughly(left), roughly(since), humanize.IBytes(d.Free))}
}

// left is when the disk is full if it goes on filling as since an earlier look, and
// how long ago that was; 0: it does not fill, or was not looked at for long enough.
func (d Disk) left(before looked, now time.Time) (left, since time.Duration) {
	since = now.Sub(before.at)
	if since < fillLooked || before.free <= d.Free {
		return 0, since
	}
	rate := float64(before.free-d.Free) / since.Seconds()
	return time.Duration(float64(d.Free-d.Reserve) / rate * float64(time.Second)), since
}

// until is that in words, after a comma.
func (d Disk) until(before looked, now time.Time) string {
	left, since := d.left(before, now)
	if left == 0 {
		return ""
	}
	return fmt.Sprintf(", which is full in about %s if it goes on filling as in the last %s", roughly(left), roughly(since))
}

// roughly gives a time in minutes below two hours, else in hours.
func roughly(d time.Duration) string {
	if d < 2*time.Hour {
		return fmt.Sprintf("%d minutes", int(d.Minutes()))
	}
	return fmt.Sprintf("%d hours", int(d.Hours()+0.5))
}
