export function bundlePage(): { script: string; style: string };
