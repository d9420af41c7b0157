"""What a finding and its outcome may say."""
