"""Floor 1: from frames to sightings. Heavy imports (cv2, mediapipe) happen inside its modules, never here."""
