package main

import (
	"os"
	"strconv"
	"strings"
	"time"
)

// mostResident is how large this process has been in memory, with server and
// phones, where the system says it.
func mostResident() string {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return "not known"
	}
	for line := range strings.Lines(string(status)) {
		if size, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			return strings.TrimSpace(size)
		}
	}
	return "not known"
}

// tick is the unit of processor time in Linux's proc files.
const tick = 10 * time.Millisecond

// processorTime is how long this process has had a core, 0 where the system
// does not say it. Unlike the clock it does not count waiting for other
// processes.
func processorTime() time.Duration {
	stat, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0
	}
	const user, system = 11, 12 // places after the name, which may hold spaces
	fields := strings.Fields(string(stat[strings.LastIndexByte(string(stat), ')')+1:]))
	if len(fields) <= system {
		return 0
	}
	var ticks int
	for _, place := range []int{user, system} {
		n, err := strconv.Atoi(fields[place])
		if err != nil {
			return 0
		}
		ticks += n
	}
	return time.Duration(ticks) * tick
}
