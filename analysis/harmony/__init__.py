"""What each chord is and does: functions, cadences, scales, rhythm."""
